#include "analysis/plan/pack/job_pack.hpp"

#include <utility>

#include "analysis/plan/pack/pack_sections.hpp"

namespace analysis::plan {
namespace {

using drawing::Align;
using drawing::Canvas;
using drawing::Face;
using drawing::PageContent;
using drawing::Pen;
using drawing::Rect;
using drawing::Size;
using drawing::TextStyle;

constexpr double kPackSide = 44.0;
constexpr double kPackTop = 28.0;
constexpr double kPackBottom = 24.0;
constexpr double kPackHeader = 30.0;  // with the space below it
constexpr double kPackFooter = 34.0;  // with the space above it

// What each page carries round its content.
class PackFrame {
 public:
  PackFrame(const JobPack& pack, Size page) : pack_(pack), page_(page) {}

  [[nodiscard]] Rect content() const {
    const double top = kPackTop + kPackHeader;
    return {kPackSide, top, page_.width - 2.0 * kPackSide,
            page_.height - kPackBottom - kPackFooter - top};
  }

  void draw(Canvas& canvas, std::size_t number, std::size_t count) const {
    const double right = page_.width - kPackSide;
    const double width = right - kPackSide;
    canvas.text({kPackSide, kPackTop}, "Job pack", {12.0, Face::bold}, drawing::kNoWrap);
    canvas.clipped({kPackSide + 80.0, kPackTop - 2.0, width - 80.0, 18.0}, [&] {
      canvas.text({kPackSide + 80.0, kPackTop + 2.6}, pack_.job, {9.0, Face::regular, Align::right},
                  width - 80.0);
    });
    canvas.line({kPackSide, kPackTop + 20.0}, {right, kPackTop + 20.0}, Pen{drawing::kInk, 1.2});
    const double foot = page_.height - kPackBottom - 26.0;
    canvas.line({kPackSide, foot}, {right, foot}, Pen{drawing::kRule, 0.6});
    const TextStyle quiet{6.8, Face::regular, Align::left, drawing::kQuiet};
    canvas.text({kPackSide, foot + 4.0},
                "The floor maker's instructions, local codes and licensed trades come first. Check "
                "every measure on site.",
                quiet, width - 70.0);
    canvas.text({kPackSide, foot + 14.0}, pack_.made_from, quiet, drawing::kNoWrap);
    canvas.text({kPackSide, foot + 4.0},
                "page " + std::to_string(number) + " of " + std::to_string(count),
                {8.0, Face::regular, Align::right}, width);
  }

 private:
  const JobPack& pack_;
  Size page_;
};

}  // namespace

base::Result<std::string, drawing::DrawError> draw_job_pack_pdf(const JobPack& pack,
                                                                const PackOptions& options) {
  const Size page = options.letter ? drawing::kLetter : drawing::kA4;
  auto made = Canvas::pdf(page, {.title = "Job pack: " + pack.job,
                                 .subject = "plan of floors to be laid",
                                 .keywords = pack.made_from,
                                 .creator = pack.software,
                                 .created_at = {}});
  if (!made) {
    return base::Failure{made.error()};
  }
  Canvas canvas = std::move(made).value();
  const PackFrame frame(pack, page);
  const Rect content = frame.content();
  const PackSetting setting{canvas, content.width, content.height, options.imperial};
  // Each begins on a page of its own.
  std::vector<std::vector<drawing::Section>> chapters{job_sections(setting, pack),
                                                      order_sections(setting, pack.order)};
  for (const PackRoom& room : pack.rooms) {
    chapters.push_back(room_sections(setting, room));
  }
  std::vector<PageContent> pages;
  for (const auto& chapter : chapters) {
    const auto placed = drawing::paginate(chapter, content.height, content.height);
    if (!placed) {
      return base::Failure{placed.error()};
    }
    pages.insert(pages.end(), placed.value().begin(), placed.value().end());
  }
  drawing::draw_pages(
      canvas, {content.x, content.y}, pages,
      [&](std::size_t number, std::size_t count) { frame.draw(canvas, number, count); });
  return canvas.finish();
}

}  // namespace analysis::plan
