#include "analysis/physics/panel/movement.hpp"

#include <algorithm>

namespace analysis::physics {
namespace {

using base::Failure;
using base::Result;

constexpr Metres kWidestRun{100.0};
constexpr MovementCoefficient kHighestCoefficient{0.05};
constexpr Metres kOneMetre{1.0};
// A gap that is short by less than this is short by rounding only.
constexpr double kRoundingMetres = 1e-6;

bool is_rh(RelativeHumidity rh) { return rh.value() >= 0.0 && rh.value() <= 1.0; }
bool is_gap(Metres gap) { return gap.value() >= 0.0 && gap <= kWidestRun; }

double sides_that_move(FloorHold hold) { return hold == FloorHold::free_both_sides ? 2.0 : 1.0; }

}  // namespace

Result<Metres, DomainError> width_change_from_rh(const FloorRun& run, RelativeHumidity from,
                                                 RelativeHumidity to) {
  if (!(run.width.value() > 0.0 && run.width <= kWidestRun)) {
    return Failure{DomainError::length_out_of_domain};
  }
  if (!(run.coefficient.value() > 0.0 && run.coefficient <= kHighestCoefficient)) {
    return Failure{DomainError::material_out_of_domain};
  }
  if (!is_rh(from) || !is_rh(to)) {
    return Failure{DomainError::rh_out_of_domain};
  }
  return Metres{run.width.value() * run.coefficient.value() * (to.value() - from.value())};
}

Result<FloorMovement, DomainError> floor_movement_from_rh(const FloorRun& run,
                                                          const ServiceHumidity& humidity) {
  if (humidity.lowest > humidity.highest) {
    return Failure{DomainError::rh_out_of_domain};
  }
  const auto up = width_change_from_rh(run, humidity.at_laying, humidity.highest);
  const auto down = width_change_from_rh(run, humidity.at_laying, humidity.lowest);
  if (!up || !down) {
    return Failure{up ? down.error() : up.error()};
  }
  const double growth = std::max(0.0, up.value().value());
  const double shrinkage = std::max(0.0, -down.value().value());
  const double sides = sides_that_move(run.hold);
  return FloorMovement{Metres{growth}, Metres{shrinkage}, Metres{growth / sides},
                       Metres{shrinkage / sides}};
}

Result<std::optional<Metres>, DomainError> largest_width_from_gap(const FloorRun& run,
                                                                  Metres gap_each_side,
                                                                  const ServiceHumidity& humidity) {
  if (!is_gap(gap_each_side)) {
    return Failure{DomainError::length_out_of_domain};
  }
  const auto per_metre = floor_movement_from_rh({kOneMetre, run.hold, run.coefficient}, humidity);
  if (!per_metre) {
    return Failure{per_metre.error()};
  }
  const double gap_per_metre = per_metre.value().gap_each_side.value();
  if (!(gap_per_metre > 0.0)) {
    return std::optional<Metres>{};
  }
  return std::optional<Metres>{Metres{gap_each_side.value() / gap_per_metre}};
}

Result<bool, DomainError> needs_joint(const FloorRun& run, Metres gap_each_side,
                                      const ServiceHumidity& humidity) {
  if (!is_gap(gap_each_side)) {
    return Failure{DomainError::length_out_of_domain};
  }
  const auto movement = floor_movement_from_rh(run, humidity);
  if (!movement) {
    return Failure{movement.error()};
  }
  return movement.value().gap_each_side.value() > gap_each_side.value() + kRoundingMetres;
}

}  // namespace analysis::physics
