// How far a floating floor grows and shrinks when its RH changes, and the gap that needs. Pure
// functions. Linear in RH and in width; thermal movement, hysteresis and what holds the floor down
// (islands, door frames) are not in it. The RH at laying is that of the panels, which in closed
// cartons is not that of the room (panel/moisture_uptake.hpp).
#pragma once

#include <cstdint>
#include <optional>

#include "analysis/base/result.hpp"
#include "analysis/base/units.hpp"
#include "analysis/physics/domain_error.hpp"

namespace analysis::physics {

using base::Metres;
using base::MovementCoefficient;
using base::RelativeHumidity;

// Growth per RH, as fraction per fraction, which is the same number as %/%RH. Source: linear
// expansion of MDF at most 0.33 % for 50 to 80 %RH, ANSI A208.2-2009 by a secondary summary, the RH
// step from memory.
inline constexpr MovementCoefficient kPublishedMovementLimit{0.0110};
// The same step at 0.30 % and 0.35 %: our assumption of how far the limits of boards spread.
inline constexpr MovementCoefficient kLowerMovementLimit{0.30 / 30.0};
inline constexpr MovementCoefficient kUpperMovementLimit{0.35 / 30.0};
// 0.25 % for 35 to 85 %RH. Source: an industry page on MDF.
inline constexpr MovementCoefficient kTypicalMovement{0.0050};

enum class FloorHold : std::uint8_t {
  free_both_sides,
  pinned_one_side,  // all of the movement shows at the other side
};

struct FloorRun {
  Metres width;  // of unbroken floor in the direction looked at, up to 100 m
  FloorHold hold = FloorHold::free_both_sides;
  MovementCoefficient coefficient = kPublishedMovementLimit;  // up to 0.05
};

struct ServiceHumidity {
  RelativeHumidity at_laying;  // of the panels
  RelativeHumidity lowest;
  RelativeHumidity highest;
};

struct FloorMovement {
  Metres growth;               // from laying to the highest RH; zero where that isn't above
  Metres shrinkage;            // from laying to the lowest RH, as a positive length
  Metres gap_each_side;        // the growth that one side must take up
  Metres shrinkage_each_side;  // opens at a side; skirting must cover it
};

// Change of width between two RH, positive when it grows.
// Errors: length_out_of_domain, material_out_of_domain, rh_out_of_domain.
[[nodiscard]] base::Result<Metres, DomainError> width_change_from_rh(const FloorRun& run,
                                                                     RelativeHumidity from,
                                                                     RelativeHumidity to);

// Errors as above; rh_out_of_domain also where lowest is above highest.
[[nodiscard]] base::Result<FloorMovement, DomainError> floor_movement_from_rh(
    const FloorRun& run, const ServiceHumidity& humidity);

// Widest run that a gap at each side allows, with the hold and coefficient of `run` (its width is
// not looked at). nullopt where the floor doesn't grow, so that any width fits. The gap may be 0.
[[nodiscard]] base::Result<std::optional<Metres>, DomainError> largest_width_from_gap(
    const FloorRun& run, Metres gap_each_side, const ServiceHumidity& humidity);

// Whether the run needs a movement joint: its growth doesn't fit into that gap.
[[nodiscard]] base::Result<bool, DomainError> needs_joint(const FloorRun& run, Metres gap_each_side,
                                                          const ServiceHumidity& humidity);

}  // namespace analysis::physics
