// What was done when a floor was laid, as a person noted it, and how that compares with its plan.
// Pure.
#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
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

// "3-4" as its two numbers; nullopt for a name in words.
[[nodiscard]] std::optional<std::pair<std::size_t, std::size_t>> corners_of(std::string_view wall);
// "wall 3-4", or the name in words; empty for every wall.
[[nodiscard]] std::string place_text(const LaidGap& left);

// The gap of what was noted for no wall by name last, the others in their order.
void put_elsewhere_last(std::vector<LaidGap>& gaps);

struct GapLeft {
  base::Metres gap;
  bool noted = false;  // else the planned one, since not every wall was noted
};
// The gap that counts for a run that ends at `walls` ("1-2", corners of the plan): the narrowest of
// them, with `planned` for those that nobody noted. `walls` empty = not known where it ends: any
// wall counts. So does every wall with a name in words. nullopt where nothing is noted or planned.
[[nodiscard]] std::optional<GapLeft> gap_left_from(const LaidFloor& laid,
                                                   std::optional<base::Metres> planned,
                                                   const std::vector<std::string>& walls);

struct PlannedFloor {
  base::Metres wall_gap;
  std::size_t joints = 0;  // between parts and in doorways
  std::size_t rows = 0;    // over the whole width
  base::Metres first_row;  // its width
};
// How lengths are told: one as it is, and one that is the least.
struct LengthWords {
  std::function<std::string(base::Metres)> told;
  std::function<std::string(base::Metres)> least;
};
// One sentence each: gaps below the planned one, joints that the plan asks for and nobody noted,
// another number of rows, a first row of another width by more than 1 mm (our assumption of how
// finely one is sawn). What was noted stands as it is; these say where it differs.
[[nodiscard]] std::vector<std::string> findings_from(const LaidFloor& laid,
                                                     const PlannedFloor& planned,
                                                     const LengthWords& words);

}  // namespace analysis::readiness
