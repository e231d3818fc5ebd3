#include "analysis/plan/sheet/site_drawing.hpp"

#include <algorithm>

#include "analysis/plan/sheet/room_frame.hpp"

namespace analysis::plan {
namespace {

using drawing::Canvas;
using drawing::Face;
using drawing::Point;
using drawing::Rect;
using drawing::TextStyle;

constexpr double kMarkRadius = 4.5;
constexpr Metres kHeaterDepth{0.08};  // as drawn

void draw_stack(Canvas& canvas, const RoomFrame& frame, const PlacedStack& stack) {
  const Rect rect = frame.rect_of(stack.place);
  canvas.fill_rect(rect, drawing::kRule);
  canvas.stroke_rect(rect, {drawing::kInk, 1.0});
  const double least = std::min(rect.width, rect.height);
  frame.label(middle_of(stack.place), std::to_string(stack.cartons),
              TextStyle{std::clamp(least * 0.8, 4.0, 8.0), Face::bold}, rect.width);
}

void draw_place(Canvas& canvas, const RoomFrame& frame, const PlaceMark& mark) {
  const Point centre = frame.at(mark.at);
  canvas.fill_circle(centre, kMarkRadius, drawing::kPaper);
  canvas.stroke_circle(centre, kMarkRadius, {drawing::kInk, 1.2});
  canvas.line({centre.x - kMarkRadius, centre.y}, {centre.x + kMarkRadius, centre.y},
              {drawing::kInk, 0.6});
  canvas.line({centre.x, centre.y - kMarkRadius}, {centre.x, centre.y + kMarkRadius},
              {drawing::kInk, 0.6});
  canvas.text({centre.x + kMarkRadius + 2.0, centre.y - 6.0}, mark.label,
              TextStyle{8.0, Face::bold}, drawing::kNoWrap);
}

}  // namespace

void draw_site(Canvas& canvas, Point top_left, const SiteSheet& sheet) {
  const RoomFrame frame(canvas, top_left,
                        {sheet.plan.room, sheet.request.doors, sheet.scale, sheet.imperial});
  for (const Outline& clear : sheet.clear) {
    canvas.fill_polygon(frame.corners_of(clear), drawing::kWash);
    canvas.stroke_polygon(frame.corners_of(clear), {drawing::kInk, 0.9, drawing::Dash::dotted});
  }
  frame.clear_outside();
  for (const PlacedStack& stack : sheet.stacks) {
    draw_stack(canvas, frame, stack);
  }
  for (const PlaceMark& mark : sheet.places) {
    draw_place(canvas, frame, mark);
  }
  frame.draw_pipes(sheet.plan.pipes);
  for (const WallStretch& heater : sheet.heaters) {
    const auto corners = frame.corners_of(place_before(sheet.plan.room, heater, kHeaterDepth));
    canvas.fill_polygon(corners, drawing::kInk);
  }
  frame.draw_walls();
  frame.draw_scale_bar();
}

std::vector<std::string> site_legend(const SiteSheet& sheet) {
  std::vector<std::string> legend;
  if (!sheet.stacks.empty()) {
    legend.emplace_back(
        "Grey = a stack, with the number of its cartons, flat and closed. The first row begins at "
        "the lower edge of the drawing.");
  }
  if (!sheet.clear.empty()) {
    legend.emplace_back("Leave the dotted places free: doors and heaters.");
  }
  if (!sheet.heaters.empty()) {
    legend.emplace_back("Black bar at a wall = heater.");
  }
  if (!sheet.places.empty()) {
    legend.emplace_back("Circle with a cross = where to test the slab.");
  }
  for (std::size_t i = 0; i < sheet.plan.pipes.size(); ++i) {
    legend.push_back(pipe_mark(i) + " = " + sheet.plan.pipes[i].name + ".");
  }
  return legend;
}

base::Result<std::string, drawing::DrawError> site_svg(SiteSheet sheet) {
  sheet.scale = frame_scale_for(sheet.plan.room, drawing::kA4);
  return drawing_svg({sheet.plan.room, sheet.scale}, site_legend(sheet), [&](Canvas& canvas) {
    draw_site(canvas, {0.0, 0.0}, sheet);
  });
}

}  // namespace analysis::plan
