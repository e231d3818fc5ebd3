// Rooms as polygons on a plan: what is wrong with one, its area, the room turned or within a gap.
// Pure. Lengths are metres; x to the right, y up.
#pragma once

#include <cmath>
#include <string>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/base/units.hpp"

namespace analysis::plan {

using base::Metres;
using base::SquareMetres;

// Metres: a thousandth of a millimetre is the same place.
inline constexpr double kSameLength = 1e-6;

struct PlanPoint {
  double x_m = 0.0;
  double y_m = 0.0;
  bool operator==(const PlanPoint&) const = default;
};
[[nodiscard]] inline double distance_m(PlanPoint a, PlanPoint b) {
  return std::hypot(b.x_m - a.x_m, b.y_m - a.y_m);
}

// Corners in order, either way round; the last one joins the first.
using Outline = std::vector<PlanPoint>;

struct Wall {
  PlanPoint from;
  PlanPoint to;
  [[nodiscard]] double length_m() const { return distance_m(from, to); }
  // REQUIRES: a wall that is not level.
  [[nodiscard]] double x_at(double y_m) const {
    return from.x_m + (y_m - from.y_m) / (to.y_m - from.y_m) * (to.x_m - from.x_m);
  }
};
// From its corner `index`, counted from 0, to the next one.
[[nodiscard]] inline Wall wall_of(const Outline& outline, std::size_t index) {
  return {outline[index], outline[(index + 1) % outline.size()]};
}

// A room: one outer outline, and outlines of what stands in it (a pillar, a hearth).
struct Region {
  Outline outer;
  std::vector<Outline> holes;
  bool is_reversed = false;  // `outer` runs the other way round than it was given
};

// Walls are named by the corners they join, from 1. Errors, one clause each: fewer than three
// corners, a corner twice in a row, a wall that crosses or touches another one, a spike that goes
// back along itself, no area, a hole outside of the room or over another one.
[[nodiscard]] base::Result<Region, std::string> region_from(Region region);

[[nodiscard]] SquareMetres area_of(const Outline& outline);  // never negative
[[nodiscard]] SquareMetres area_of(const Region& region);
[[nodiscard]] Metres perimeter_of(const Outline& outline);
[[nodiscard]] bool contains(const Region& region, PlanPoint point);  // edges: either answer
// Whether the room takes more than half a turn at the corner `index` (from 0) of its outer outline.
[[nodiscard]] bool is_inner_corner(const Region& region, std::size_t index);

// What the region's corner or wall (both from 1) was called before its corners were turned round;
// for people. A wall has the number of the corner it begins at.
[[nodiscard]] int given_corner(const Region& region, int corner);
[[nodiscard]] int given_wall(const Region& region, int wall);

struct Bounds {
  double low_x_m = 0.0;
  double high_x_m = 0.0;
  double low_y_m = 0.0;
  double high_y_m = 0.0;
};
[[nodiscard]] Bounds bounds_of(const Outline& outline);
[[nodiscard]] inline PlanPoint middle_of(const Bounds& box) {
  return {(box.low_x_m + box.high_x_m) / 2.0, (box.low_y_m + box.high_y_m) / 2.0};
}

// Turned anticlockwise about the origin: a point, all corners.
[[nodiscard]] PlanPoint turned(PlanPoint point, double degrees);
[[nodiscard]] Region turned(const Region& region, double degrees);
// Every wall moved inwards by `gap`, holes grown by it. Error: a wall too short for the gap, or a
// place too narrow for two gaps; named by its corners.
[[nodiscard]] base::Result<Region, std::string> inset(const Region& region, Metres gap);

}  // namespace analysis::plan
