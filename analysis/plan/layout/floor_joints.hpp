// Where a floor that is too large to move as one is parted. Pure.
#pragma once

#include <optional>
#include <vector>

#include "analysis/plan/room/stretches.hpp"

namespace analysis::plan {

// A line along x on which a profile lies.
struct JointLine {
  double at_m = 0.0;  // y of the profile's middle
  int corner = 0;     // of the room's outer outline, from 1, that it begins at; 0 = at none
};
struct FloorSides {
  const Region& room;   // walls as measured
  const Region& floor;  // within its gaps
};

// Lines by increasing y, such that no part between them is longer than `most`: as few as possible;
// of these the ones with the shortest profiles, then those at most inner corners of the outline,
// where a floor that moves strains most (common practice, no source); between corners equal parts.
// No corner is taken that leaves a part below 1 m (our assumption). Empty = `most` is kept or none.
[[nodiscard]] std::vector<JointLine> joint_lines_from(const FloorSides& sides,
                                                      std::optional<Metres> most);

// What of a line has floor under it, by increasing x.
[[nodiscard]] std::vector<Stretch> floor_on_line(const Region& floor, double y_m);

// The smallest box round what of the floor lies within `field`; nullopt = nothing does.
[[nodiscard]] std::optional<Bounds> floor_within(const Region& floor, const Bounds& field);

// The longest line along x that stays on the floor within `field`; zero where no floor is.
[[nodiscard]] Metres longest_run_in(const Region& floor, const Bounds& field);

// A field in the plan turned by a quarter, which takes x to y and y to -x.
[[nodiscard]] Bounds quarter_turned(const Bounds& field);

}  // namespace analysis::plan
