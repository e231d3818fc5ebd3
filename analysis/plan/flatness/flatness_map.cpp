#include "analysis/plan/flatness/flatness_map.hpp"

#include <algorithm>

#include "analysis/readiness/reason_texts.hpp"

namespace analysis::plan {
namespace {

using drawing::Canvas;
using drawing::Rect;
using drawing::Size;
using drawing::TextStyle;
using readiness::text_from_number;

constexpr double kLongestSide = 700.0;  // points, of the grid itself
constexpr double kLargestCell = 42.0;   // a small grid is not blown up
constexpr double kSmallestText = 10.0;  // cells below this carry no number
constexpr double kMapMargin = 34.0;
constexpr double kMapHead = 86.0;
constexpr double kMapFoot = 60.0;
constexpr double kNarrowest = 430.0;  // the words below need it

class MapDrawing {
 public:
  explicit MapDrawing(const FlatnessMap& map) : map_(map), result_(map.result), grid_(map.grid) {
    const double wide = static_cast<double>(grid_.columns) * grid_.along_m;
    const double deep = static_cast<double>(grid_.rows()) * grid_.between_m;
    per_metre_ = std::min(kLongestSide / std::max(wide, deep),
                          kLargestCell / std::min(grid_.along_m, grid_.between_m));
  }

  [[nodiscard]] Size size() const {
    return {std::max(kNarrowest, 2.0 * kMapMargin + width()), kMapHead + height() + kMapFoot};
  }

  void draw(Canvas& canvas) const {
    canvas.fill_rect({0.0, 0.0, size().width, size().height}, drawing::kPaper);
    write_head(canvas);
    for (std::size_t cell = 0; cell < grid_.heights_mm.size(); ++cell) {
      draw_cell(canvas, cell);
    }
    for (const auto& spot : result_.high) {
      mark_high(canvas, rect_of(cell_of(spot)));
    }
    for (const auto& spot : result_.low) {
      if (spot.place.direction != readiness::FlatnessDirection::line) {
        mark_low(canvas, rect_of(cell_of(spot)));
      }
    }
    number_edges(canvas);
    write_foot(canvas);
  }

 private:
  [[nodiscard]] double width() const {
    return static_cast<double>(grid_.columns) * grid_.along_m * per_metre_;
  }
  [[nodiscard]] double height() const {
    return static_cast<double>(grid_.rows()) * grid_.between_m * per_metre_;
  }
  [[nodiscard]] Rect rect_of(std::size_t cell) const {
    const double wide = grid_.along_m * per_metre_;
    const double deep = grid_.between_m * per_metre_;
    return {kMapMargin + static_cast<double>(cell % grid_.columns) * wide,
            kMapHead + static_cast<double>(cell / grid_.columns) * deep, wide, deep};
  }
  [[nodiscard]] std::size_t cell_of(const readiness::FlatnessSpot& spot) const {
    return spot.place.row * grid_.columns + spot.place.column;
  }
  static void centred(Canvas& canvas, const Rect& rect, const std::string& text,
                      const TextStyle& style) {
    const auto extent = canvas.measure(text, style, drawing::kNoWrap);
    canvas.text(
        {rect.x + (rect.width - extent.width) / 2.0, rect.y + (rect.height - extent.height) / 2.0},
        text, style, drawing::kNoWrap);
  }

  // Beyond the limit: shaded and bold. Not measured: hatched.
  void draw_cell(Canvas& canvas, std::size_t cell) const {
    const Rect rect = rect_of(cell);
    const bool beyond = result_.gaps_mm[cell] > map_.words.limit.within_mm;
    if (!grid_.heights_mm[cell]) {
      canvas.hatch(rect, {drawing::kQuiet, 0.4}, 4.0);
    } else if (beyond) {
      canvas.fill_rect(rect, drawing::kRule);
    }
    canvas.stroke_rect(rect, {drawing::kQuiet, 0.4});
    if (grid_.heights_mm[cell] && std::min(rect.width, rect.height) >= kSmallestText) {
      centred(canvas, rect, cell_text(result_.gaps_mm[cell], map_.words.imperial),
              {std::clamp(std::min(rect.width / 3.0, rect.height * 0.6), 4.0, 9.0),
               beyond ? drawing::Face::bold : drawing::Face::regular});
    }
  }
  static void mark_high(Canvas& canvas, const Rect& rect) {
    canvas.stroke_circle({rect.x + rect.width / 2.0, rect.y + rect.height / 2.0},
                         std::min(rect.width, rect.height) * 0.46, {drawing::kInk, 1.6});
  }
  static void mark_low(Canvas& canvas, const Rect& rect) {
    constexpr double kInset = 2.0;
    canvas.stroke_rect(
        {rect.x + kInset, rect.y + kInset, rect.width - 2.0 * kInset, rect.height - 2.0 * kInset},
        {drawing::kInk, 1.6});
  }
  void number_edges(Canvas& canvas) const {
    const TextStyle style{7.0, drawing::Face::regular, drawing::Align::left, drawing::kQuiet};
    const auto every = [](double cell) { return cell >= kSmallestText ? 1U : 5U; };
    const Rect first = rect_of(0);
    for (std::size_t c = 0; c < grid_.columns; c += every(first.width)) {
      const Rect rect = rect_of(c);
      centred(canvas, {rect.x, kMapHead - 13.0, rect.width, 12.0}, std::to_string(c + 1), style);
    }
    for (std::size_t r = 0; r < grid_.rows(); r += every(first.height)) {
      const Rect rect = rect_of(r * grid_.columns);
      centred(canvas, {kMapMargin - 20.0, rect.y, 18.0, rect.height}, std::to_string(r + 1), style);
    }
  }
  // Whose floor, of when, met or not, and what the numbers are.
  void write_head(Canvas& canvas) const {
    const std::string lines[] = {
        "Seen " + base::minute_text_from_utc(map_.seen_at) + "; " +
            (result_.met ? "met" : "not met"),
        worst_line(result_, map_.words),
        std::string("Largest gap under the straightedge at each height, in ") +
            (map_.words.imperial ? "inches" : "mm")};
    const double wrap = size().width - 2.0 * kMapMargin;
    canvas.text({kMapMargin, 8.0}, "Flatness: " + map_.room, {11.0, drawing::Face::bold}, wrap);
    double top = 24.0;
    for (const std::string& line : lines) {
      canvas.text({kMapMargin, top}, line, {8.5}, drawing::kNoWrap);
      top += 13.0;
    }
  }
  void write_foot(Canvas& canvas) const {
    const bool imperial = map_.words.imperial;
    const std::string lines[] = {
        "shaded = beyond the limit; ring = grind; square = fill; hatched = not measured",
        "rows " + stretch_text(base::Metres{grid_.between_m}, imperial) +
            " apart, heights in a row " + stretch_text(base::Metres{grid_.along_m}, imperial) +
            "; row 1, height 1 is the first number of the file",
        "Row 1, height 1 lies in this corner of the room: ______________________"};
    double top = kMapHead + height() + 8.0;
    for (const std::string& line : lines) {
      canvas.text({kMapMargin, top}, line, {7.5}, drawing::kNoWrap);
      top += 14.0;
    }
  }

  const FlatnessMap& map_;
  const readiness::FlatnessResult& result_;
  const readiness::HeightGrid& grid_;
  double per_metre_ = 0.0;
};

}  // namespace

base::Result<std::string, drawing::DrawError> flatness_map_svg(const FlatnessMap& map) {
  const MapDrawing drawing(map);
  auto canvas = Canvas::svg(drawing.size());
  if (!canvas) {
    return base::Failure{canvas.error()};
  }
  drawing.draw(canvas.value());
  return canvas.value().finish();
}

}  // namespace analysis::plan
