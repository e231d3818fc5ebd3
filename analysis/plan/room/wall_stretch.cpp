#include "analysis/plan/room/wall_stretch.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace analysis::plan {

StretchEnds ends_of(const Region& room, const WallStretch& stretch) {
  const Wall wall = wall_of(room.outer, static_cast<std::size_t>(stretch.wall) - 1);
  const PlanPoint a = wall.from;
  const double length = wall.length_m();
  const PlanPoint along{(wall.to.x_m - a.x_m) / length, (wall.to.y_m - a.y_m) / length};
  const auto at = [&](double metres) {
    return PlanPoint{a.x_m + along.x_m * metres, a.y_m + along.y_m * metres};
  };
  // Outlines go anticlockwise, so the room lies to the left.
  return {at(stretch.from_corner.value()),
          at(stretch.from_corner.value() + stretch.width.value()),
          {-along.y_m, along.x_m}};
}

Outline place_before(const Region& room, const WallStretch& stretch, Metres depth) {
  const StretchEnds ends = ends_of(room, stretch);
  const auto deep = [&](PlanPoint point) {
    return PlanPoint{point.x_m + ends.inward.x_m * depth.value(),
                     point.y_m + ends.inward.y_m * depth.value()};
  };
  return {ends.from, ends.to, deep(ends.to), deep(ends.from)};
}

Metres distance_from_outline(const Outline& outline, PlanPoint point) {
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const auto [a, b] = wall_of(outline, i);
    const double along_x = b.x_m - a.x_m;
    const double along_y = b.y_m - a.y_m;
    const double t = std::clamp(((point.x_m - a.x_m) * along_x + (point.y_m - a.y_m) * along_y) /
                                    (along_x * along_x + along_y * along_y),
                                0.0, 1.0);
    least = std::min(least,
                     std::hypot(point.x_m - a.x_m - t * along_x, point.y_m - a.y_m - t * along_y));
  }
  return Metres{least};
}

}  // namespace analysis::plan
