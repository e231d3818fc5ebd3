#include "analysis/plan/room/outline.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

namespace analysis::plan {
namespace {

double cross(PlanPoint a, PlanPoint b, PlanPoint c) {
  return (b.x_m - a.x_m) * (c.y_m - a.y_m) - (b.y_m - a.y_m) * (c.x_m - a.x_m);
}

double signed_area(const Outline& outline) {
  double twice = 0.0;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const auto [a, b] = wall_of(outline, i);
    twice += a.x_m * b.y_m - b.x_m * a.y_m;
  }
  return twice / 2.0;
}

// How far `point` lies from the line of the wall, with its sign: left of it is positive.
double side_of(const Wall& wall, PlanPoint point) {
  return cross(wall.from, wall.to, point) / wall.length_m();
}

bool is_on_wall(const Wall& wall, PlanPoint point) {
  if (std::abs(side_of(wall, point)) > kSameLength) {
    return false;
  }
  const auto [a, b] = wall;
  const double along =
      ((point.x_m - a.x_m) * (b.x_m - a.x_m) + (point.y_m - a.y_m) * (b.y_m - a.y_m)) /
      wall.length_m();
  return along >= -kSameLength && along <= wall.length_m() + kSameLength;
}

bool walls_meet(const Wall& a, const Wall& b) {
  if (is_on_wall(a, b.from) || is_on_wall(a, b.to) || is_on_wall(b, a.from) ||
      is_on_wall(b, a.to)) {
    return true;
  }
  return (side_of(a, b.from) > 0.0) != (side_of(a, b.to) > 0.0) &&
         (side_of(b, a.from) > 0.0) != (side_of(b, a.to) > 0.0);
}

std::string wall_text(std::size_t from, std::size_t corners) {
  return "the wall from corner " + std::to_string(from + 1) + " to " +
         std::to_string((from + 1) % corners + 1);
}

std::optional<std::string> corner_fault(const Outline& outline) {
  const std::size_t n = outline.size();
  if (n < 3) {
    return "it has " + std::to_string(n) + " corners; expected 3 or more";
  }
  for (std::size_t i = 0; i < n; ++i) {
    if (!std::isfinite(outline[i].x_m) || !std::isfinite(outline[i].y_m)) {
      return "corner " + std::to_string(i + 1) + " is no place on a plan";
    }
    if (wall_of(outline, i).length_m() <= kSameLength) {
      return "corners " + std::to_string(i + 1) + " and " + std::to_string((i + 1) % n + 1) +
             " are the same place; name each corner once, the last wall closes by itself";
    }
  }
  return std::nullopt;
}

std::optional<std::string> wall_fault(const Outline& outline) {
  const std::size_t n = outline.size();
  for (std::size_t i = 0; i < n; ++i) {
    const Wall wall = wall_of(outline, i);
    const Wall next = wall_of(outline, (i + 1) % n);
    if (is_on_wall(wall, next.to) || is_on_wall(next, wall.from)) {
      return wall_text((i + 1) % n, n) + " goes back along the one before it";
    }
    for (std::size_t j = i + 2; j < n; ++j) {
      const bool neighbours = (j + 1) % n == i;
      if (!neighbours && walls_meet(wall, wall_of(outline, j))) {
        return wall_text(i, n) + " crosses or touches " + wall_text(j, n);
      }
    }
  }
  return std::nullopt;
}

std::optional<std::string> outline_fault(const Outline& outline) {
  auto fault = corner_fault(outline);
  if (!fault) {
    fault = wall_fault(outline);
  }
  return fault;
}

bool outlines_meet(const Outline& a, const Outline& b) {
  for (std::size_t i = 0; i < a.size(); ++i) {
    for (std::size_t j = 0; j < b.size(); ++j) {
      if (walls_meet(wall_of(a, i), wall_of(b, j))) {
        return true;
      }
    }
  }
  return false;
}

bool is_inside(const Outline& outline, PlanPoint point) {
  bool inside = false;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Wall wall = wall_of(outline, i);
    if ((wall.from.y_m > point.y_m) != (wall.to.y_m > point.y_m) &&
        point.x_m < wall.x_at(point.y_m)) {
      inside = !inside;
    }
  }
  return inside;
}

// Whether it had to be reversed.
bool wind(Outline& outline, bool anticlockwise) {
  const bool reverse = (signed_area(outline) > 0.0) != anticlockwise;
  if (reverse) {
    std::reverse(outline.begin() + 1, outline.end());  // the first corner stays the first
  }
  return reverse;
}

// Where two lines meet that lie `gap` to the left of the walls a-b and b-c.
PlanPoint moved_corner(PlanPoint a, PlanPoint b, PlanPoint c, double gap) {
  const double first = distance_m(a, b);
  const double second = distance_m(b, c);
  const PlanPoint u{(b.x_m - a.x_m) / first, (b.y_m - a.y_m) / first};
  const PlanPoint v{(c.x_m - b.x_m) / second, (c.y_m - b.y_m) / second};
  const double turn = u.x_m * v.y_m - u.y_m * v.x_m;
  const double ahead = u.x_m * v.x_m + u.y_m * v.y_m;
  // Along u so far that the distance from the second wall becomes the gap too.
  const double along = std::abs(turn) < 1e-9 ? 0.0 : gap * (ahead - 1.0) / turn;
  return {b.x_m - gap * u.y_m + along * u.x_m, b.y_m + gap * u.x_m + along * u.y_m};
}

base::Result<Outline, std::string> moved(const Outline& outline, double gap, bool is_reversed) {
  const std::size_t n = outline.size();
  Outline result;
  for (std::size_t i = 0; i < n; ++i) {
    result.push_back(moved_corner(outline[(i + n - 1) % n], outline[i], outline[(i + 1) % n], gap));
  }
  for (std::size_t i = 0; i < n; ++i) {
    const auto [a, b] = wall_of(outline, i);
    const auto [c, d] = wall_of(result, i);
    // A wall that turned round was shorter than what its two corners took from it.
    if ((b.x_m - a.x_m) * (d.x_m - c.x_m) + (b.y_m - a.y_m) * (d.y_m - c.y_m) <= 0.0) {
      return base::Failure{wall_text(is_reversed ? n - 1 - i : i, n) +
                           " is too short for the gap; leave it out of the plan"};
    }
  }
  if (const auto fault = outline_fault(result)) {
    return base::Failure{"it is too narrow for the gap on both sides: " + *fault};
  }
  return result;
}

}  // namespace

base::Result<Region, std::string> region_from(Region region) {
  if (const auto fault = outline_fault(region.outer)) {
    return base::Failure{*fault};
  }
  region.is_reversed = wind(region.outer, true) != region.is_reversed;
  for (std::size_t i = 0; i < region.holes.size(); ++i) {
    Outline& hole = region.holes[i];
    const std::string name = "fixed item " + std::to_string(i + 1);
    if (const auto fault = outline_fault(hole)) {
      return base::Failure{name + ": " + *fault};
    }
    wind(hole, false);
    if (outlines_meet(region.outer, hole) || !is_inside(region.outer, hole.front())) {
      return base::Failure{name + " does not lie wholly inside the room"};
    }
    for (std::size_t j = 0; j < i; ++j) {
      if (outlines_meet(region.holes[j], hole) || is_inside(region.holes[j], hole.front()) ||
          is_inside(hole, region.holes[j].front())) {
        return base::Failure{name + " lies over fixed item " + std::to_string(j + 1)};
      }
    }
  }
  return region;
}

SquareMetres area_of(const Outline& outline) {
  return SquareMetres{std::abs(signed_area(outline))};
}

SquareMetres area_of(const Region& region) {
  double area = area_of(region.outer).value();
  for (const Outline& hole : region.holes) {
    area -= area_of(hole).value();
  }
  return SquareMetres{area};
}

Metres perimeter_of(const Outline& outline) {
  double length = 0.0;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    length += wall_of(outline, i).length_m();
  }
  return Metres{length};
}

int given_corner(const Region& region, int corner) {
  const int corners = static_cast<int>(region.outer.size());
  return region.is_reversed && corner > 1 ? corners - corner + 2 : corner;
}
int given_wall(const Region& region, int wall) {
  return region.is_reversed ? static_cast<int>(region.outer.size()) - wall + 1 : wall;
}

bool contains(const Region& region, PlanPoint point) {
  return is_inside(region.outer, point) &&
         std::none_of(region.holes.begin(), region.holes.end(),
                      [&](const Outline& hole) { return is_inside(hole, point); });
}

bool is_inner_corner(const Region& region, std::size_t index) {
  const std::size_t before = (index + region.outer.size() - 1) % region.outer.size();
  const auto [here, next] = wall_of(region.outer, index);
  return cross(region.outer[before], here, next) < -kSameLength;
}

Bounds bounds_of(const Outline& outline) {
  Bounds bounds{outline.front().x_m, outline.front().x_m, outline.front().y_m, outline.front().y_m};
  for (const PlanPoint corner : outline) {
    bounds.low_x_m = std::min(bounds.low_x_m, corner.x_m);
    bounds.high_x_m = std::max(bounds.high_x_m, corner.x_m);
    bounds.low_y_m = std::min(bounds.low_y_m, corner.y_m);
    bounds.high_y_m = std::max(bounds.high_y_m, corner.y_m);
  }
  return bounds;
}

PlanPoint turned(PlanPoint point, double degrees) {
  const double angle = degrees * std::numbers::pi / 180.0;
  // Quarter turns exactly, so that walls along the axes stay along them.
  const bool quarter = std::fmod(degrees, 90.0) == 0.0;
  const double c = quarter ? std::round(std::cos(angle)) : std::cos(angle);
  const double s = quarter ? std::round(std::sin(angle)) : std::sin(angle);
  return {c * point.x_m - s * point.y_m, s * point.x_m + c * point.y_m};
}

Region turned(const Region& region, double degrees) {
  const auto turn = [&](Outline& outline) {
    for (PlanPoint& corner : outline) {
      corner = turned(corner, degrees);
    }
  };
  Region result = region;
  turn(result.outer);
  std::for_each(result.holes.begin(), result.holes.end(), turn);
  return result;
}

base::Result<Region, std::string> inset(const Region& region, Metres gap) {
  auto outer = moved(region.outer, gap.value(), region.is_reversed);
  if (!outer) {
    return base::Failure{outer.error()};
  }
  Region result{std::move(outer).value(), {}, region.is_reversed};
  for (std::size_t i = 0; i < region.holes.size(); ++i) {
    auto hole = moved(region.holes[i], gap.value(), false);
    if (!hole) {
      return base::Failure{"fixed item " + std::to_string(i + 1) + ": " + hole.error()};
    }
    result.holes.push_back(std::move(hole).value());
  }
  return region_from(std::move(result));
}

}  // namespace analysis::plan
