// What a laid floor did with the air it had: growth in its dampest spell, shrinkage in its driest,
// against the gap that was left. Pure. Formulas and their limits: physics/panel/movement.hpp.
//
// No lag of the board is reckoned: it is taken to have followed a mean of 14 days in full. A bare
// board of 8 mm follows within one to two days by computation (physics/panel/moisture_uptake.hpp);
// decor, underlay and barrier slow that by an amount that nobody measured, so 14 days are our
// assumption. The single dampest and driest days bound what a floor without any delay had done.
#pragma once

#include <optional>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/physics/panel/movement.hpp"
#include "analysis/readiness/service/service_log.hpp"

namespace analysis::readiness {

// The floor as it moves: its longest unbroken run.
struct ServiceFloor {
  physics::FloorRun run;              // with the coefficient that the job states
  std::optional<base::Metres> gap;    // left at each side; nullopt = not known
  std::optional<base::Metres> panel;  // width of one panel along the run; nullopt = not known
  base::RelativeHumidity at_laying;   // that the panels are taken to have had
};

// From laying to one humidity and to another.
struct ServiceMovement {
  base::MovementCoefficient coefficient;
  base::Metres growth_each_side;  // to the dampest
  base::Metres shrinkage;         // to the driest, of the whole run
  std::optional<base::Metres> shrinkage_of_panel;
  std::optional<bool> gap_closed;  // the growth is more than the gap
};
// Errors of physics/panel/movement.hpp; rh_out_of_domain also where driest is above dampest.
[[nodiscard]] base::Result<ServiceMovement, physics::DomainError> service_movement_from(
    const ServiceFloor& floor, base::MovementCoefficient coefficient, base::RelativeHumidity driest,
    base::RelativeHumidity dampest);

// The humidity at which the growth fills the gap; nullopt where even 100 %RH does not, or no gap is
// known. Errors of physics/panel/movement.hpp.
[[nodiscard]] base::Result<std::optional<base::RelativeHumidity>, physics::DomainError>
rh_that_fills_gap(const ServiceFloor& floor, base::MovementCoefficient coefficient);

// With the stated coefficient and with that of a usual board.
struct MovementPair {
  ServiceMovement stated;
  ServiceMovement typical;
};
// nullopt where one of them can't be reckoned.
[[nodiscard]] std::optional<MovementPair> movement_pair_from(const ServiceFloor& floor,
                                                             base::RelativeHumidity driest,
                                                             base::RelativeHumidity dampest);
struct ServiceReport {
  std::vector<ServiceDay> days;  // those that count and are over
  std::size_t days_elapsed = 0;  // over since the end of laying
  DaysOutside outside;
  std::optional<Spells> spells;               // of 14 days
  std::optional<Spells> single;               // of one day
  std::optional<MovementPair> moved;          // in the spells of 14 days
  std::optional<MovementPair> moved_at_once;  // in the single days
};
// `floor` nullopt: nothing is said of movement.
[[nodiscard]] ServiceReport service_report_from(const ServiceLog& log, base::TimeRange since_laying,
                                                const ServiceClimate& climate,
                                                const std::optional<ServiceFloor>& floor);

}  // namespace analysis::readiness
