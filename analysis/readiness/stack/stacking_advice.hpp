// How long cartons take to warm through as they are to be stacked, and how to stack them so that
// they do so in the time there is. Pure; heat only; the room is taken to be steady. Numbers only:
// sentences for people are in stacking_sentences.hpp.
#pragma once

#include <optional>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/physics/stack/stack_material.hpp"
#include "analysis/readiness/stack/stack_tracker.hpp"

namespace analysis::readiness {

// One carton, lying flat.
struct CartonSize {
  base::Metres length;
  base::Metres width;
  base::Metres height;
  std::optional<base::Kilograms> mass{};
};

// Stacks stand apart with room air between them; within a stack the cartons touch.
struct StackArrangement {
  int stacks = 1;
  int cartons_high = 1;
  int cartons_wide = 1;
  physics::StackBottom bottom = physics::StackBottom::on_floor;
  bool operator==(const StackArrangement&) const = default;
};

struct StackingPlan {
  int cartons = 1;
  CartonSize carton;
  StackArrangement planned;
  Celsius delivery;
  Celsius room;
  Micros available{0};
  KelvinDelta within{1.0};  // of the room = warmed through
};

// Air between two stacks, and between a stack and a wall. Common practice (from memory).
inline constexpr base::Metres kAirBetweenStacks{0.05};

// A stack higher than this many times its width is called tall: it can tip. [asm]
inline constexpr double kTallSlenderness = 3.0;

// No time is looked for beyond this, 60 days.
inline constexpr Micros kStackingHorizon = base::micros_from_hours(24.0 * 60.0);

// What the arrangement reaches within the time available.
enum class StackingGrade : std::uint8_t {
  whole_range = 1,  // also with the slow material
  usual_only = 2,   // with the mid material, not with the slow one
  not_in_time = 3,
};

struct StackingOption {
  StackArrangement arrangement;
  StackTimeToWarm time;  // nullopt = beyond kStackingHorizon
  StackingGrade grade = StackingGrade::not_in_time;
  base::SquareMetres floor_area{};  // of all stacks, each with kAirBetweenStacks on two sides
  bool tall = false;
  std::optional<double> floor_load_kg_per_m2{};  // where the stack stands; nullopt without a mass
};

struct StackingAdvice {
  StackingOption planned;
  // Where the planned one is not in time over the whole range: the arrangement with the least floor
  // area that is, at most one on the floor and one on battens, neither wider nor higher than
  // planned; where there is none, the same with the usual material. Least floor area first.
  std::vector<StackingOption> better;
  StackingOption quickest;  // single cartons on battens
};

// count_out_of_domain unless every count is 1..100000 and the arrangement holds all cartons;
// temperature_out_of_domain, or `within` not positive; duration_out_of_domain (available negative
// or above kStackingHorizon); errors of check_stack for the stack. Cost: some 30 runs of the heat
// over the time available, about 40 ms for 48 h.
[[nodiscard]] base::Result<StackingAdvice, physics::DomainError> stacking_advice_from(
    const StackingPlan& plan);

}  // namespace analysis::readiness
