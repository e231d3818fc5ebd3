#include "analysis/plan/room/wall_stretch.hpp"

#include <cmath>

namespace analysis::plan {

StretchEnds ends_of(const Region& room, const WallStretch& stretch) {
  const auto wall = static_cast<std::size_t>(stretch.wall - 1);
  const PlanPoint a = room.outer[wall];
  const PlanPoint b = room.outer[(wall + 1) % room.outer.size()];
  const double length = std::hypot(b.x_m - a.x_m, b.y_m - a.y_m);
  const PlanPoint along{(b.x_m - a.x_m) / length, (b.y_m - a.y_m) / length};
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

}  // namespace analysis::plan
