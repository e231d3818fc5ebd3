// Whether the gap that is left lets a floor grow, for each unbroken run of it. Pure. Formula and
// its sources: analysis/physics/panel/movement.hpp.
#pragma once

#include "analysis/physics/panel/movement.hpp"
#include "analysis/plan/room/remark.hpp"
#include "analysis/readiness/outlook/gap_outlook.hpp"

namespace analysis::plan {

using base::Metres;

struct ServiceClimate {
  // Panels of 50 %RH that come to 80 %RH: the step that linear expansion of boards is published
  // for, where nothing is known of the place.
  physics::ServiceHumidity humidity{base::RelativeHumidity{0.50}, base::RelativeHumidity{0.50},
                                    base::RelativeHumidity{0.80}};
  base::MovementCoefficient limit = physics::kPublishedMovementLimit;
  physics::FloorHold hold = physics::FloorHold::free_both_sides;
  bool is_assumed = true;  // false = the job says it
};

struct GapCheck {
  Metres run;                                // of unbroken floor, gap to gap
  bool across_rows = true;                   // else along them
  Metres left;                               // gap at each side
  readiness::outlook::GapAnswer at_limit;    // with the coefficient of `climate`
  readiness::outlook::GapAnswer at_typical;  // with kTypicalMovement
};

// Errors of physics/panel/movement.hpp.
[[nodiscard]] base::Result<GapCheck, physics::DomainError> gap_check_from(
    Metres run, bool across_rows, Metres gap, const ServiceClimate& climate);

// "7 m across the rows grow by up to 10.5 mm at each side ...; 10 mm are left: short by 0.5 mm ..."
[[nodiscard]] Remark remark_of(const GapCheck& check, const ServiceClimate& climate);

}  // namespace analysis::plan
