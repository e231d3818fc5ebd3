#include "analysis/certificate/pages.hpp"

#include <algorithm>
#include <array>
#include <utility>

#include "analysis/certificate/content/charts.hpp"
#include "analysis/certificate/pages/head.hpp"
#include "analysis/certificate/pages/sections.hpp"
#include "analysis/drawing/flow.hpp"

namespace analysis::certificate {
namespace {

using drawing::Align;
using drawing::Canvas;
using drawing::Face;
using drawing::PageContent;
using drawing::Pen;
using drawing::Rect;
using drawing::Size;
using drawing::TextStyle;

constexpr double kSideMargin = 44.0;
constexpr double kTopMargin = 28.0;
constexpr double kBottomMargin = 24.0;
constexpr double kHeaderHeight = 22.0;
constexpr double kBannerHeight = 22.0;
constexpr double kFooterHeight = 26.0;
constexpr double kSpaceAroundContent = 9.0;

// Type sizes tried, comfortable first, and the pages each may take before the next is tried.
struct Attempt {
  double scale;
  std::size_t most_pages;
};
constexpr std::array<Attempt, 10> kAttempts{{{1.0, 2},
                                             {0.95, 2},
                                             {0.91, 2},
                                             {0.87, 2},
                                             {0.84, 2},
                                             {1.0, 3},
                                             {0.93, 3},
                                             {0.87, 3},
                                             {0.81, 3},
                                             {0.77, 3}}};
// Of the plot of one chart; the largest is taken that keeps the pages.
constexpr std::array<double, 6> kPlotHeights{78.0, 66.0, 56.0, 47.0, 41.0, 36.0};

// Everything around the content that each page carries.
class PageFrame {
 public:
  PageFrame(const CertificateFacts& facts, const PagesTexts& texts, std::string digest_hex,
            Size page)
      : facts_(facts), texts_(texts), digest_hex_(std::move(digest_hex)), page_(page) {}

  [[nodiscard]] Rect content() const {
    const double top =
        kTopMargin + kHeaderHeight + (facts_.simulated ? kBannerHeight : 0.0) + kSpaceAroundContent;
    const double bottom = page_.height - kBottomMargin - kFooterHeight - kSpaceAroundContent;
    return {kSideMargin, top, page_.width - 2.0 * kSideMargin, bottom - top};
  }

  void draw(Canvas& canvas, std::size_t number, std::size_t count) const {
    if (facts_.simulated) {
      draw_watermark(canvas);
      draw_banner(canvas);
    }
    draw_header(canvas, number > 1);
    draw_footer(canvas, number, count);
  }

 private:
  void draw_watermark(Canvas& canvas) const {
    const TextStyle style{60.0, Face::bold, Align::left, drawing::kWatermark};
    for (const double part : {0.36, 0.76}) {
      canvas.turned_text({page_.width / 2.0, page_.height * part}, 24.0, texts_.simulated, style);
    }
  }

  void draw_banner(Canvas& canvas) const {
    const Rect banner{kSideMargin, kTopMargin + kHeaderHeight + 4.0,
                      page_.width - 2.0 * kSideMargin, kBannerHeight - 4.0};
    canvas.fill_rect(banner, drawing::kInk);
    const TextStyle mark{10.5, Face::bold, Align::left, drawing::kPaper};
    const TextStyle words{7.6, Face::regular, Align::left, drawing::kPaper};
    const double width =
        canvas.text({banner.x + 8.0, banner.y + 2.8}, texts_.simulated, mark, drawing::kNoWrap)
            .width;
    canvas.text({banner.x + 20.0 + width, banner.y + 4.6}, texts_.simulated_banner, words,
                drawing::kNoWrap);
  }

  void draw_header(Canvas& canvas, bool with_verdict) const {
    const double right = page_.width - kSideMargin;
    const TextStyle title{12.0, Face::bold, Align::left, drawing::kInk};
    const TextStyle number{9.0, Face::regular, Align::right, drawing::kInk};
    canvas.text({kSideMargin, kTopMargin}, texts_.document_title, title, drawing::kNoWrap);
    const std::string text = filled(texts_.number, {number_text()});
    canvas.text({kSideMargin, kTopMargin + 2.6}, text, number, right - kSideMargin);
    if (with_verdict) {
      draw_small_verdict(canvas, kSideMargin + 172.0);
    }
    const double y = kTopMargin + kHeaderHeight - 2.0;
    canvas.line({kSideMargin, y}, {right, y}, Pen{drawing::kInk, 1.2, drawing::Dash::solid});
  }

  // A page that goes astray still says what it belongs to.
  void draw_small_verdict(Canvas& canvas, double x) const {
    const drawing::Symbol symbol = symbol_of(facts_.assessment.verdict);
    const TextStyle style{9.6, Face::bold, Align::left, drawing::colour_of(symbol)};
    drawing::draw_symbol(canvas, symbol, {x, kTopMargin + 8.2}, 11.0);
    canvas.text({x + 10.0, kTopMargin + 2.2}, verdict_word(facts_, texts_), style,
                drawing::kNoWrap);
  }

  void draw_footer(Canvas& canvas, std::size_t number, std::size_t count) const {
    const double y = page_.height - kBottomMargin - kFooterHeight;
    const double width = page_.width - 2.0 * kSideMargin;
    canvas.line({kSideMargin, y}, {kSideMargin + width, y},
                Pen{drawing::kRule, 0.6, drawing::Dash::solid});
    TextStyle style{6.8, Face::regular, Align::left, drawing::kQuiet};
    const std::string left = filled(texts_.number, {number_text()}) + "   " + texts_.times_are_utc +
                             (facts_.simulated ? std::string("   ") + texts_.simulated : "");
    canvas.text({kSideMargin, y + 4.0}, left, style, width - 80.0);
    canvas.text({kSideMargin, y + 14.0}, filled(texts_.digest_footer, {digest_hex_}), style,
                drawing::kNoWrap);
    style.align = Align::right;
    style.size = 8.0;
    style.colour = drawing::kInk;
    canvas.text({kSideMargin, y + 4.0},
                filled(texts_.page_of, {std::to_string(number), std::to_string(count)}), style,
                width);
  }

  [[nodiscard]] std::string number_text() const {
    return facts_.number.empty() ? texts_.withheld : facts_.number;
  }

  const CertificateFacts& facts_;
  const PagesTexts& texts_;
  std::string digest_hex_;
  Size page_;
};

// Everything but the charts, in order.
std::vector<drawing::Section> sections_from(const Setting& setting) {
  std::vector<drawing::Section> sections;
  const auto add = [&sections](std::optional<drawing::Section> section) {
    if (section) {
      sections.push_back(std::move(*section));
    }
  };
  add(notices_section(setting));
  sections.push_back(verdict_section(setting));
  sections.push_back(subject_section(setting));
  sections.push_back(hours_section(setting));
  sections.push_back(gates_section(setting));
  sections.push_back(limits_section(setting));
  sections.push_back(instruments_section(setting));
  add(site_notes_section(setting));
  sections.push_back(incidents_section(setting));
  sections.push_back(lost_records_section(setting));
  sections.push_back(cautions_section(setting));
  sections.push_back(proof_section(setting));
  return sections;
}

// Ranks the charts may take, counted from the end: behind the instruments, or elsewhere where that
// saves a page.
constexpr std::array<std::ptrdiff_t, 4> kChartRanks{4, 5, 3, 2};

using Pages = base::Result<std::vector<PageContent>, drawing::DrawError>;

// The largest charts with which the pages are at most so many; otherwise those with the smallest.
Pages with_charts(Setting& setting, std::size_t most_pages, double height) {
  std::vector<drawing::Section> sections = sections_from(setting);
  Pages pages = base::Failure{drawing::DrawError::too_tall};
  for (const double plot_height : kPlotHeights) {
    setting.plot_height = plot_height;
    const drawing::Section charts = charts_section(setting);
    for (const std::ptrdiff_t rank : kChartRanks) {
      const auto place = sections.insert(sections.end() - rank, charts);
      pages = drawing::paginate(sections, height, height);
      if (pages && pages.value().size() <= most_pages) {
        return pages;
      }
      sections.erase(place);
    }
  }
  return pages;
}

Pages laid_out(Setting setting, double height) {
  Pages pages = base::Failure{drawing::DrawError::too_tall};
  for (const Attempt& attempt : kAttempts) {
    setting.scale = attempt.scale;
    pages = with_charts(setting, attempt.most_pages, height);
    if (pages && pages.value().size() <= attempt.most_pages) {
      return pages;
    }
  }
  return pages;
}

}  // namespace

std::string_view text_of(PagesError error) {
  switch (error) {
    case PagesError::font_missing:
      return drawing::text_of(drawing::DrawError::font_missing);
    case PagesError::drawing_failed:
      return drawing::text_of(drawing::DrawError::surface_failed);
    case PagesError::text_too_long:
      return "one text of the certificate is taller than a page: shorten the remark, reason or "
             "placement";
    case PagesError::bad_digest:
      return "the certificate's digest is not 64 lower-case hex digits";
    case PagesError::bad_number:
      return "a value of the certificate is not finite or beyond +-1000000 and can't be drawn";
  }
  return "unknown error of the pages";
}

base::Result<std::string, PagesError> draw_certificate_pdf(
    const CertificateFacts& facts, const std::string& certificate_json_sha256_hex,
    const PageOptions& options, const PagesTexts& texts) {
  if (const auto checked = check_drawable(facts, certificate_json_sha256_hex); !checked) {
    return base::Failure{checked.error()};
  }
  const Size page = options.paper == Paper::a4 ? drawing::kA4 : drawing::kLetter;
  const auto code = drawing::qr_matrix_from("sha256:" + certificate_json_sha256_hex);
  auto made = Canvas::pdf(
      page, {.title = std::string(texts.document_title) + " " + facts.number,
             .subject = verdict_word(facts, texts),
             .keywords = (facts.simulated ? std::string(texts.simulated) + ", " : std::string{}) +
                         "sha256:" + certificate_json_sha256_hex,
             .creator = facts.software,
             .created_at = facts.issued_at});
  if (!code || !made) {
    return base::Failure{pages_error_from(code ? made.error() : code.error())};
  }
  Canvas canvas = std::move(made).value();
  const PageFrame frame(facts, texts, certificate_json_sha256_hex, page);
  const Rect content = frame.content();
  const auto pages = laid_out(
      Setting{{facts, texts, certificate_json_sha256_hex, options.units, options.redacted_fields},
              canvas,
              code.value(),
              content.width,
              1.0},
      content.height);
  if (!pages) {
    return base::Failure{pages_error_from(pages.error())};
  }
  drawing::draw_pages(
      canvas, {content.x, content.y}, pages.value(),
      [&](std::size_t number, std::size_t count) { frame.draw(canvas, number, count); });
  const auto bytes = canvas.finish();
  if (!bytes) {
    return base::Failure{pages_error_from(bytes.error())};
  }
  return bytes.value();
}

}  // namespace analysis::certificate
