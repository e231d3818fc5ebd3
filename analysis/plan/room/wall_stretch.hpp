// A stretch of a wall on the plan: a door, a heater. Pure.
#pragma once

#include "analysis/plan/room/outline.hpp"

namespace analysis::plan {

// In the wall from corner `wall` (from 1) to the next one.
struct WallStretch {
  int wall = 0;
  Metres from_corner;
  Metres width;
};

struct StretchEnds {
  PlanPoint from;
  PlanPoint to;
  PlanPoint inward;  // unit vector into the room, square to the wall
};
// REQUIRES: a room that passed region_from, turned or not; a wall that it has.
[[nodiscard]] StretchEnds ends_of(const Region& room, const WallStretch& stretch);

// The rectangle in front of the stretch, so deep into the room.
[[nodiscard]] Outline place_before(const Region& room, const WallStretch& stretch, Metres depth);

// Of the nearest place of its walls, whichever side the point lies on. REQUIRES: corners.
[[nodiscard]] Metres distance_from_outline(const Outline& outline, PlanPoint point);

}  // namespace analysis::plan
