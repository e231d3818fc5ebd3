#include "analysis/plan/handover/care_pages.hpp"

#include <array>
#include <utility>

#include "analysis/drawing/flow.hpp"
#include "analysis/drawing/table.hpp"
#include "analysis/plan/room/length_text.hpp"

namespace analysis::plan {
namespace {

using drawing::Align;
using drawing::Block;
using drawing::Canvas;
using drawing::DrawError;
using drawing::Face;
using drawing::PageContent;
using drawing::Pen;
using drawing::Point;
using drawing::Section;
using drawing::Size;
using drawing::TextStyle;

constexpr double kCareSide = 50.0;
constexpr double kCareTop = 32.0;
constexpr double kCareHead = 26.0;
constexpr double kCareFoot = 48.0;  // from the page's lower edge to the foot's rule
constexpr double kCareBanner = 20.0;
constexpr double kCareChart = 92.0;  // of the plot
constexpr std::size_t kCarePages = 2;
constexpr std::array<double, 4> kCareScales{1.0, 0.94, 0.88, 0.82};
constexpr const char* kSimulated = "SIMULATED SITE";

struct CareSetting {
  const Canvas& canvas;  // to measure with
  double width = 0.0;
  double scale = 1.0;
  [[nodiscard]] double body() const { return 9.6 * scale; }
};

Block line_block(const CareSetting& setting, const CareLine& line) {
  const double space = 3.6 * setting.scale;
  Block text = drawing::labelled_values(setting.canvas, {{line.label, lengths_held_in(line.text)}},
                                        96.0 * setting.scale, setting.width, setting.body());
  return Block{text.height + space, std::move(text.draw)};
}

void add_chart(const CareSetting& setting, const drawing::TimeChart& chart,
               std::vector<Block>& body) {
  const drawing::ChartStyle style{7.6 * setting.scale, true};
  const drawing::ChartWords words;
  const double height =
      kCareChart * setting.scale + drawing::room_around_plot(setting.canvas, chart, style);
  const double key = drawing::chart_key_height(setting.canvas, setting.width, style, words);
  body.push_back(
      Block{height + key + 8.0 * setting.scale,
            [chart, style, words, height, width = setting.width](Canvas& canvas, Point at) {
              drawing::draw_time_chart(canvas, chart, {at.x, at.y, width, height}, style, words);
              drawing::draw_chart_key(canvas, {at.x, at.y + height + 4.0}, width, style, words);
            }});
}

std::vector<Section> sections_of(const CareSetting& setting, const CareSheet& sheet) {
  const TextStyle name{15.0 * setting.scale, Face::bold, Align::left, drawing::kInk};
  const TextStyle plain{setting.body(), Face::regular, Align::left, drawing::kInk};
  std::vector<Section> sections;
  Section head;
  head.lead = drawing::stacked(
      {drawing::paragraph(setting.canvas, sheet.heading, name, setting.width, 2.0),
       drawing::paragraph(setting.canvas, sheet.subject, plain, setting.width, 0.0)});
  sections.push_back(std::move(head));
  for (const CareSection& part : sheet.sections) {
    std::vector<Block> body;
    for (const CareLine& line : part.lines) {
      body.push_back(line_block(setting, line));
    }
    if (part.chart) {
      add_chart(setting, *part.chart, body);
    }
    Section section = drawing::titled_section(
        setting.canvas, {part.title, part.title + " (continued)", 11.2 * setting.scale},
        setting.width, std::move(body));
    section.space_before = 12.0 * setting.scale;
    section.whole = true;
    sections.push_back(std::move(section));
  }
  return sections;
}

class CareFrame {
 public:
  CareFrame(const CareDocument& document, Size page) : document_(document), page_(page) {}

  [[nodiscard]] drawing::Rect content() const {
    const double top = kCareTop + kCareHead + (document_.simulated ? kCareBanner : 0.0) + 8.0;
    return {kCareSide, top, page_.width - 2.0 * kCareSide, page_.height - kCareFoot - 8.0 - top};
  }

  void draw(Canvas& canvas, std::size_t number, std::size_t count) const {
    const double right = page_.width - kCareSide;
    const double width = right - kCareSide;
    const TextStyle title{12.0, Face::bold, Align::left, drawing::kInk};
    const TextStyle job{9.0, Face::regular, Align::right, drawing::kInk};
    canvas.text({kCareSide, kCareTop}, document_.title, title, drawing::kNoWrap);
    canvas.text({kCareSide + width * 0.4, kCareTop + 2.6}, document_.job, job, width * 0.6);
    rule(canvas, kCareTop + kCareHead - 4.0, 1.2);
    if (document_.simulated) {
      const drawing::Rect banner{kCareSide, kCareTop + kCareHead, width, kCareBanner - 4.0};
      canvas.fill_rect(banner, drawing::kInk);
      canvas.text({banner.x + 8.0, banner.y + 2.0}, kSimulated,
                  {10.0, Face::bold, Align::left, drawing::kPaper}, drawing::kNoWrap);
    }
    const double foot = page_.height - kCareFoot;
    rule(canvas, foot, 0.6);
    canvas.text({kCareSide, foot + 4.0}, document_.foot,
                {7.2, Face::regular, Align::left, drawing::kQuiet}, width - 70.0);
    canvas.text({kCareSide, foot + 4.0},
                "page " + std::to_string(number) + " of " + std::to_string(count),
                {8.0, Face::regular, Align::right, drawing::kInk}, width);
  }

 private:
  void rule(Canvas& canvas, double y, double thickness) const {
    canvas.line({kCareSide, y}, {page_.width - kCareSide, y},
                Pen{drawing::kInk, thickness, drawing::Dash::solid});
  }

  const CareDocument& document_;
  Size page_;
};

using CarePages = base::Result<std::vector<PageContent>, DrawError>;

CarePages pages_of(const Canvas& canvas, const CareSheet& sheet, const drawing::Rect& content) {
  CarePages pages = base::Failure{DrawError::too_tall};
  for (const double scale : kCareScales) {
    pages = drawing::paginate(sections_of({canvas, content.width, scale}, sheet), content.height,
                              content.height);
    if (pages && pages.value().size() <= kCarePages) {
      break;
    }
  }
  return pages;
}

}  // namespace

base::Result<std::string, DrawError> draw_care_pdf(const CareDocument& document, Size page) {
  auto made = Canvas::pdf(page, {.title = document.title + ", " + document.job,
                                 .subject = document.title,
                                 .keywords = document.simulated ? kSimulated : "",
                                 .creator = document.creator,
                                 .created_at = document.made_at});
  if (!made) {
    return base::Failure{made.error()};
  }
  Canvas canvas = std::move(made).value();
  const CareFrame frame(document, page);
  const drawing::Rect content = frame.content();
  std::vector<PageContent> pages;
  for (const CareSheet& sheet : document.sheets) {
    auto own = pages_of(canvas, sheet, content);
    if (!own) {
      return base::Failure{own.error()};
    }
    for (PageContent& each : std::move(own).value()) {
      pages.push_back(std::move(each));
    }
  }
  drawing::draw_pages(
      canvas, {content.x, content.y}, pages,
      [&](std::size_t number, std::size_t count) { frame.draw(canvas, number, count); });
  return canvas.finish();
}

}  // namespace analysis::plan
