#include "analysis/plan/sheet/room_frame.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "analysis/plan/room/length_text.hpp"
#include "analysis/plan/room/wall_stretch.hpp"

namespace analysis::plan {
namespace {

using drawing::Canvas;
using drawing::Face;
using drawing::Point;
using drawing::Rect;
using drawing::Size;
using drawing::TextStyle;

constexpr double kPointsPerMetre = 72.0 / kMetresPerInch;
constexpr std::array<int, 12> kScales{10, 20, 25, 30, 40, 50, 75, 100, 125, 150, 200, 500};
constexpr double kToLength = 28.0;  // points from a wall to its length
constexpr double kToDoorMark = 39.0;
constexpr double kToCorner = 9.0;
const TextStyle kPipeStyle{6.5, Face::bold};
constexpr double kThreeFeet = 3.0 * kMetresPerFoot;

Size room_size(const Region& room) {
  const Bounds bounds = bounds_of(room.outer);
  return {bounds.high_x_m - bounds.low_x_m, bounds.high_y_m - bounds.low_y_m};
}

}  // namespace

Size frame_size(const Region& room, int scale) {
  const Size size = room_size(room);
  const double per_metre = kPointsPerMetre / scale;
  return {size.width * per_metre + 2.0 * kFrameMargin,
          size.height * per_metre + 2.0 * kFrameMargin + kScaleBarHeight};
}

int frame_scale_for(const Region& room, Size space) {
  for (const int scale : kScales) {
    const Size size = frame_size(room, scale);
    if (size.width <= space.width && size.height <= space.height) {
      return scale;
    }
  }
  return kScales.back();
}

base::Result<std::string, drawing::DrawError> drawing_svg(
    const SvgSubject& subject, const std::vector<std::string>& legend,
    const std::function<void(Canvas&)>& draw) {
  constexpr double kLine = 11.0;
  Size size = frame_size(subject.room, subject.scale);
  double y = size.height;
  size.height += kLine * static_cast<double>(legend.size() + 1);
  size.width = std::max(size.width, 460.0);
  auto canvas = Canvas::svg(size);
  if (!canvas) {
    return base::Failure{canvas.error()};
  }
  draw(canvas.value());
  for (const std::string& line : legend) {
    canvas.value().text({kFrameMargin, y}, line, TextStyle{7.0}, drawing::kNoWrap);
    y += kLine;
  }
  return canvas.value().finish();
}

std::string pipe_mark(std::size_t pipe) { return "P" + std::to_string(pipe + 1); }

RoomFrame::RoomFrame(Canvas& canvas, Point top_left, const FrameSubject& subject)
    : canvas_(canvas),
      subject_(subject),
      per_metre_(kPointsPerMetre / subject.scale),
      bounds_(bounds_of(subject.room.outer)),
      left_(top_left.x + kFrameMargin),
      base_(top_left.y + kFrameMargin + (bounds_.high_y_m - bounds_.low_y_m) * per_metre_) {}

Point RoomFrame::at(PlanPoint point) const {
  return {left_ + (point.x_m - bounds_.low_x_m) * per_metre_,
          base_ - (point.y_m - bounds_.low_y_m) * per_metre_};
}

Rect RoomFrame::rect_of(const Bounds& box) const {
  const Point corner = at({box.low_x_m, box.high_y_m});
  return {corner.x, corner.y, (box.high_x_m - box.low_x_m) * per_metre_,
          (box.high_y_m - box.low_y_m) * per_metre_};
}

std::vector<Point> RoomFrame::corners_of(const Outline& outline) const {
  std::vector<Point> corners;
  for (const PlanPoint corner : outline) {
    corners.push_back(at(corner));
  }
  return corners;
}

void RoomFrame::label(PlanPoint middle, const std::string& text, const TextStyle& style,
                      double most) const {
  const auto extent = canvas_.measure(text, style, drawing::kNoWrap);
  if (extent.width > most) {
    return;
  }
  const Point place = at(middle);
  canvas_.text({place.x - extent.width / 2.0, place.y - extent.height / 2.0}, text, style,
               drawing::kNoWrap);
}

void RoomFrame::fill_room(drawing::Colour colour) const {
  canvas_.fill_polygon(corners_of(subject_.room.outer), colour);
}

// A ring round the room, joined to its outline by a seam.
void RoomFrame::clear_outside() const {
  const double far = kFrameMargin / per_metre_;
  const PlanPoint low{bounds_.low_x_m - far, bounds_.low_y_m - far};
  const PlanPoint high{bounds_.high_x_m + far, bounds_.high_y_m + far};
  Outline ring{low, {high.x_m, low.y_m}, high, {low.x_m, high.y_m}, low};
  const Outline& room = subject_.room.outer;
  for (std::size_t i = 0; i <= room.size(); ++i) {
    ring.push_back(room[(room.size() - i) % room.size()]);
  }
  canvas_.fill_polygon(corners_of(ring), drawing::kPaper);
}

void RoomFrame::draw_walls() const {
  for (const Outline& item : subject_.room.holes) {
    canvas_.fill_polygon(corners_of(item), drawing::kPaper);
    canvas_.hatch(rect_of(bounds_of(item)), {drawing::kQuiet, 0.4}, 4.0);
    canvas_.stroke_polygon(corners_of(item), {drawing::kInk, 1.2});
  }
  canvas_.stroke_polygon(corners_of(subject_.room.outer), {drawing::kInk, 1.8});
  for (std::size_t wall = 0; wall < subject_.room.outer.size(); ++wall) {
    draw_wall_marks(wall);
  }
  for (std::size_t door = 0; door < subject_.doors.size(); ++door) {
    draw_door(door);
  }
}

// The length along the wall, outside; the corner's number outside of both its walls.
void RoomFrame::draw_wall_marks(std::size_t wall) const {
  const Outline& outer = subject_.room.outer;
  const auto [a, b] = wall_of(outer, wall);
  const double length = distance_m(a, b);
  const StretchEnds ends =
      ends_of(subject_.room, {static_cast<int>(wall) + 1, Metres{0.0}, Metres{length}});
  const TextStyle style{7.0};
  const std::string text = length_text_from(Metres{length}, subject_.imperial);
  const double wide = canvas_.measure(text, style, drawing::kNoWrap).width;
  if (wide <= length * per_metre_) {
    // Away from inner corners, where the lengths of both walls lie side by side.
    const double free = (length * per_metre_ - wide) / 2.0;
    const double shift = std::min(kToLength, free) / per_metre_ / length *
                         ((is_inner_corner(subject_.room, wall) ? 1.0 : 0.0) -
                          (is_inner_corner(subject_.room, (wall + 1) % outer.size()) ? 1.0 : 0.0));
    const Point middle =
        at({a.x_m + (b.x_m - a.x_m) * (0.5 + shift), a.y_m + (b.y_m - a.y_m) * (0.5 + shift)});
    double degrees = std::atan2(b.y_m - a.y_m, b.x_m - a.x_m) * 180.0 / std::numbers::pi;
    if (degrees > 90.0 + 1e-6 || degrees <= -90.0 + 1e-6) {
      degrees += degrees > 0.0 ? -180.0 : 180.0;  // never upside down
    }
    canvas_.turned_text(
        {middle.x - ends.inward.x_m * kToLength, middle.y + ends.inward.y_m * kToLength}, degrees,
        text, style);
  }
  const std::size_t before = (wall + outer.size() - 1) % outer.size();
  const StretchEnds other =
      ends_of(subject_.room, {static_cast<int>(before) + 1, Metres{0.0}, Metres{1.0}});
  const Point corner = at(a);
  const double out_x = ends.inward.x_m + other.inward.x_m;
  const double out_y = ends.inward.y_m + other.inward.y_m;
  const double size = std::max(std::hypot(out_x, out_y), 0.2);
  const double far = kToCorner * std::numbers::sqrt2;
  canvas_.turned_text({corner.x - out_x / size * far, corner.y + out_y / size * far}, 0.0,
                      std::to_string(wall + 1),
                      TextStyle{6.0, Face::bold, drawing::Align::left, drawing::kQuiet});
}

// An opening between two jambs, its mark outside.
void RoomFrame::draw_door(std::size_t door) const {
  const DoorPlace& place = subject_.doors[door];
  const StretchEnds ends =
      ends_of(subject_.room, {place.wall, place.from_corner, place.door.width});
  const Point from = at(ends.from);
  const Point to = at(ends.to);
  canvas_.line(from, to, {drawing::kPaper, 3.0});
  canvas_.line(from, to, {drawing::kInk, 0.6, drawing::Dash::dashed});
  for (const Point jamb : {from, to}) {
    const double dx = ends.inward.x_m * 3.5;
    const double dy = -ends.inward.y_m * 3.5;
    canvas_.line({jamb.x - dx, jamb.y - dy}, {jamb.x + dx, jamb.y + dy}, {drawing::kInk, 1.6});
  }
  const Point mark{(from.x + to.x) / 2.0 - ends.inward.x_m * kToDoorMark,
                   (from.y + to.y) / 2.0 + ends.inward.y_m * kToDoorMark};
  canvas_.turned_text(mark, 0.0, "D" + std::to_string(door + 1), TextStyle{8.0, Face::bold});
}

double RoomFrame::pipe_radius(const PipeHole& pipe) const {
  return std::max(pipe.diameter.value() * per_metre_ / 2.0, 1.5);
}

Bounds RoomFrame::pipe_bounds(const PipeHole& pipe, const std::string& mark) const {
  const PlanPoint centre = pipe.centre;
  const double radius = pipe_radius(pipe);
  const auto extent = canvas_.measure(mark, kPipeStyle, drawing::kNoWrap);
  const double high = std::max(radius, extent.height / 2.0) / per_metre_;
  return {centre.x_m - radius / per_metre_, centre.x_m + (radius + 2.0 + extent.width) / per_metre_,
          centre.y_m - high, centre.y_m + high};
}

void RoomFrame::draw_pipes(const std::vector<PipeHole>& pipes) const {
  for (std::size_t i = 0; i < pipes.size(); ++i) {
    draw_pipe(pipes[i], pipe_mark(i));
  }
}

void RoomFrame::draw_pipe(const PipeHole& pipe, const std::string& mark) const {
  const Point middle = at(pipe.centre);
  const double radius = pipe_radius(pipe);
  const auto extent = canvas_.measure(mark, kPipeStyle, drawing::kNoWrap);
  const Point corner{middle.x + radius + 1.0, middle.y - extent.height / 2.0};
  canvas_.fill_rect({corner.x, corner.y, extent.width, extent.height}, drawing::kPaper);
  canvas_.text(corner, mark, kPipeStyle, drawing::kNoWrap);
  canvas_.fill_circle(middle, radius, drawing::kPaper);
  canvas_.stroke_circle(middle, radius, {drawing::kInk, 1.0});
}

void RoomFrame::draw_scale_bar() const {
  const double bar = (subject_.imperial ? kThreeFeet : 1.0) * per_metre_;
  const double y = base_ + kFrameMargin + 4.0;
  canvas_.stroke_rect({left_, y, bar, 4.0}, {drawing::kInk, 0.8});
  canvas_.fill_rect({left_, y, bar / 2.0, 4.0}, drawing::kInk);
  canvas_.text({left_ + bar + 6.0, y - 3.0},
               std::string(subject_.imperial ? "3 ft" : "1 m") +
                   ", 1:" + std::to_string(subject_.scale) + " when printed at full size",
               TextStyle{7.0}, drawing::kNoWrap);
}

void RoomFrame::draw_arrow(double degrees, const std::string& what) const {
  constexpr double kHalf = 12.0;
  constexpr double kHead = 5.0;
  const double angle = degrees * std::numbers::pi / 180.0;
  const Point along{std::cos(angle), -std::sin(angle)};
  const Point middle{left_ + kHalf, base_ + kFrameMargin + 21.0};
  const Point tip{middle.x + along.x * kHalf, middle.y + along.y * kHalf};
  canvas_.line({middle.x - along.x * kHalf, middle.y - along.y * kHalf}, tip, {drawing::kInk, 1.2});
  const std::array<Point, 3> head{
      {tip,
       {tip.x - along.x * kHead - along.y * 2.5, tip.y - along.y * kHead + along.x * 2.5},
       {tip.x - along.x * kHead + along.y * 2.5, tip.y - along.y * kHead - along.x * 2.5}}};
  canvas_.fill_polygon(head, drawing::kInk);
  canvas_.text({left_ + 2.0 * kHalf + 6.0, middle.y - 5.0}, what, TextStyle{7.0}, drawing::kNoWrap);
}

}  // namespace analysis::plan
