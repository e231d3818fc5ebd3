#include "analysis/plan/sheet/plan_drawing.hpp"

#include <array>
#include <cmath>
#include <cstdio>

#include "analysis/plan/room/length_text.hpp"

namespace analysis::plan {
namespace {

using drawing::Canvas;
using drawing::Pen;
using drawing::Point;
using drawing::Rect;
using drawing::Size;
using drawing::TextStyle;

constexpr double kPointsPerMetre = 72.0 / 0.0254;
constexpr double kMargin = 26.0;  // points round the room, for measures and row numbers
constexpr double kLegend = 34.0;  // below it
constexpr std::array<int, 7> kScales{10, 20, 25, 50, 100, 200, 500};

std::string length_label(double metres, bool imperial) {
  std::array<char, 32> text{};
  if (imperial) {
    std::snprintf(text.data(), text.size(), "%.1f", metres / 0.0254);
  } else {
    std::snprintf(text.data(), text.size(), "%.1f", metres * 100.0);
  }
  return text.data();
}

// Draws one plan; knows where metres go on the page.
class PlanDrawing {
 public:
  PlanDrawing(Canvas& canvas, Point top_left, Size space, const RoomPlan& plan, int scale,
              bool imperial)
      : canvas_(canvas),
        plan_(plan),
        imperial_(imperial),
        scale_(scale),
        per_metre_(kPointsPerMetre / scale),
        bounds_(bounds_of(plan.room.outer)),
        left_(top_left.x + (space.width - (bounds_.high_x_m - bounds_.low_x_m) * per_metre_) / 2.0),
        base_(top_left.y + kMargin + (bounds_.high_y_m - bounds_.low_y_m) * per_metre_) {}

  void draw() {
    canvas_.fill_polygon(corners_of(plan_.room.outer), drawing::kWash);
    for (const FloorPart& part : plan_.parts) {
      draw_part(part);
    }
    canvas_.fill_polygon(outside_of_room(), drawing::kPaper);
    for (const FloorPart& part : plan_.parts) {
      for (std::size_t i = 0; i < part.layout.rows.size(); ++i) {
        const Row& row = part.layout.rows[i];
        if (!row.runs.empty() && !row.runs.front().empty()) {
          draw_row_number(row, row.runs.front().front(), i + 1);
        }
      }
    }
    for (const Outline& item : plan_.room.holes) {
      canvas_.fill_polygon(corners_of(item), drawing::kPaper);
      const Bounds around = bounds_of(item);
      canvas_.hatch(rect_of(around.low_x_m, around.high_x_m, around.low_y_m, around.high_y_m),
                    {drawing::kQuiet, 0.4}, 4.0);
      canvas_.stroke_polygon(corners_of(item), {drawing::kInk, 1.2});
    }
    canvas_.stroke_polygon(corners_of(plan_.room.outer), {drawing::kInk, 1.6});
    draw_measures();
    draw_legend();
  }

 private:
  [[nodiscard]] Point at(double x_m, double y_m) const {
    return {left_ + (x_m - bounds_.low_x_m) * per_metre_,
            base_ - (y_m - bounds_.low_y_m) * per_metre_};
  }
  [[nodiscard]] Rect rect_of(double low_x, double high_x, double low_y, double high_y) const {
    const Point corner = at(low_x, high_y);
    return {corner.x, corner.y, (high_x - low_x) * per_metre_, (high_y - low_y) * per_metre_};
  }
  [[nodiscard]] std::vector<Point> corners_of(const Outline& outline) const {
    std::vector<Point> corners;
    for (const PlanPoint corner : outline) {
      corners.push_back(at(corner.x_m, corner.y_m));
    }
    return corners;
  }

  // All round the room, joined to its outline by a seam: rows end at the walls.
  [[nodiscard]] std::vector<Point> outside_of_room() const {
    const double far = kMargin / per_metre_;
    const double low_x = bounds_.low_x_m - far;
    const double high_x = bounds_.high_x_m + far;
    const double low_y = bounds_.low_y_m - far;
    const double high_y = bounds_.high_y_m + far;
    std::vector<Point> corners{at(low_x, low_y), at(high_x, low_y), at(high_x, high_y),
                               at(low_x, high_y), at(low_x, low_y)};
    const Outline& room = plan_.room.outer;
    for (std::size_t i = 0; i <= room.size(); ++i) {
      const PlanPoint corner = room[(room.size() - i) % room.size()];
      corners.push_back(at(corner.x_m, corner.y_m));
    }
    return corners;
  }

  void draw_part(const FloorPart& part) {
    for (std::size_t i = 0; i < part.layout.rows.size(); ++i) {
      const Row& row = part.layout.rows[i];
      for (const auto& run : row.runs) {
        for (const Piece& piece : run) {
          draw_piece(row, piece);
        }
      }
    }
  }

  // Whole panels are plain; what is cut is shaded and says its length.
  void draw_piece(const Row& row, const Piece& piece) {
    const Rect rect = rect_of(piece.low_x_m, piece.high_x_m, row.low_y_m, row.high_y_m);
    canvas_.fill_rect(rect, piece.whole ? drawing::kPaper : drawing::kRule);
    canvas_.stroke_rect(rect, {drawing::kInk, 0.5});
    if (piece.whole) {
      return;
    }
    const TextStyle style{std::min(7.0, rect.height * 0.75)};
    const std::string label =
        length_label(piece.length_m(), imperial_) + "  #" + std::to_string(piece.panel);
    const auto extent = canvas_.measure(label, style, drawing::kNoWrap);
    if (style.size >= 3.0 && extent.width < rect.width - 2.0) {
      canvas_.text({rect.x + (rect.width - extent.width) / 2.0,
                    rect.y + (rect.height - extent.height) / 2.0},
                   label, style, drawing::kNoWrap);
    }
  }

  void draw_row_number(const Row& row, const Piece& first, std::size_t number) {
    const Rect rect = rect_of(first.low_x_m, first.high_x_m, row.low_y_m, row.high_y_m);
    const TextStyle style{std::min(6.5, rect.height * 0.8), drawing::Face::bold};
    if (style.size < 3.0) {
      return;
    }
    const std::string label = std::to_string(number);
    const auto extent = canvas_.measure(label, style, drawing::kNoWrap);
    canvas_.text({rect.x - extent.width - 3.0, rect.y + (rect.height - extent.height) / 2.0}, label,
                 style, drawing::kNoWrap);
  }

  [[nodiscard]] std::string measure_text(double metres) const {
    return imperial_ ? imperial_text_from(Metres{metres}) : metric_text_from(Metres{metres});
  }
  void draw_measures() {
    const double width = bounds_.high_x_m - bounds_.low_x_m;
    const double height = bounds_.high_y_m - bounds_.low_y_m;
    const TextStyle style{7.5, drawing::Face::regular, drawing::Align::left, drawing::kInk};
    const std::string across = measure_text(width);
    const auto extent = canvas_.measure(across, style, drawing::kNoWrap);
    const Point top = at(bounds_.low_x_m, bounds_.high_y_m);
    const Point right = at(bounds_.high_x_m, bounds_.high_y_m);
    canvas_.line({top.x, top.y - 6.0}, {right.x, top.y - 6.0}, {drawing::kInk, 0.4});
    canvas_.text({(top.x + right.x - extent.width) / 2.0, top.y - 8.0 - extent.height}, across,
                 style, drawing::kNoWrap);
    canvas_.line({right.x + 6.0, right.y}, {right.x + 6.0, base_}, {drawing::kInk, 0.4});
    canvas_.turned_text({right.x + 14.0, (right.y + base_) / 2.0}, 90.0, measure_text(height),
                        style);
  }
  // A bar of one metre, the scale, what the shades mean.
  void draw_legend() {
    const Point from{at(bounds_.low_x_m, bounds_.low_y_m).x, base_ + 14.0};
    const double bar = imperial_ ? 3.0 * 0.3048 * per_metre_ : per_metre_;
    canvas_.fill_rect({from.x, from.y, bar, 3.0}, drawing::kInk);
    canvas_.text({from.x, from.y + 5.0},
                 std::string(imperial_ ? "3 ft" : "1 m") + "   1:" + std::to_string(scale_) +
                     "   row 1 at the bottom; shaded = cut, its length in " +
                     (imperial_ ? "inches" : "cm") + " and the panel it is cut from",
                 TextStyle{7.0}, drawing::kNoWrap);
  }

  Canvas& canvas_;
  const RoomPlan& plan_;
  bool imperial_;
  int scale_;
  double per_metre_;
  Bounds bounds_;
  double left_;
  double base_;
};

}  // namespace

int scale_for(const RoomPlan& plan, Size space) {
  const Bounds bounds = bounds_of(plan.room.outer);
  for (const int scale : kScales) {
    const double per_metre = kPointsPerMetre / scale;
    if ((bounds.high_x_m - bounds.low_x_m) * per_metre + 2.0 * kMargin <= space.width &&
        (bounds.high_y_m - bounds.low_y_m) * per_metre + kMargin + kLegend <= space.height) {
      return scale;
    }
  }
  return kScales.back();
}

void draw_plan(Canvas& canvas, Point top_left, Size space, const RoomPlan& plan, int scale,
               bool imperial) {
  PlanDrawing(canvas, top_left, space, plan, scale, imperial).draw();
}

base::Result<std::string, drawing::DrawError> plan_svg(const RoomPlan& plan, bool imperial) {
  const Bounds bounds = bounds_of(plan.room.outer);
  const int scale = scale_for(plan, drawing::kA4);
  const double per_metre = kPointsPerMetre / scale;
  const Size size{(bounds.high_x_m - bounds.low_x_m) * per_metre + 2.0 * kMargin,
                  (bounds.high_y_m - bounds.low_y_m) * per_metre + kMargin + kLegend};
  auto canvas = Canvas::svg(size);
  if (!canvas) {
    return base::Failure{canvas.error()};
  }
  draw_plan(canvas.value(), {0.0, 0.0}, size, plan, scale, imperial);
  return canvas.value().finish();
}

}  // namespace analysis::plan
