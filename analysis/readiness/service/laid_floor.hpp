// What was done when a floor was laid, as a person noted it, and how that compares with its plan.
// Pure.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "analysis/base/units.hpp"

namespace analysis::readiness {

struct LaidGap {
  std::string wall;  // "1-2": between those corners of the plan, or in words; empty = every wall
  base::Metres gap;  // left between floor and wall
  bool operator==(const LaidGap&) const = default;
};
struct LaidJoint {
  std::string place;
  std::string kind;  // of profile; may be empty
  bool operator==(const LaidJoint&) const = default;
};
// What was not noted is absent.
struct LaidFloor {
  std::vector<LaidGap> gaps;
  std::vector<LaidJoint> joints;
  std::optional<int> rows;
  std::optional<base::Metres> first_row;  // its width
  std::optional<int> cartons_used;
  std::optional<int> cartons_left;
  bool operator==(const LaidFloor&) const = default;
};

// nullopt where no gap was noted.
[[nodiscard]] std::optional<base::Metres> narrowest_gap(const LaidFloor& laid);

struct PlannedFloor {
  base::Metres wall_gap;
  std::size_t joints = 0;
  std::size_t rows = 0;  // over the whole width
};
// One sentence each: gaps below the planned one, joints that the plan asks for and nobody noted,
// another number of rows. What was noted stands as it is; these say where it differs.
[[nodiscard]] std::vector<std::string> findings_from(const LaidFloor& laid,
                                                     const PlannedFloor& planned);

}  // namespace analysis::readiness
