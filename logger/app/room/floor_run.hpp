// A floor as it moves, from what the job says of its movement.
#pragma once

#include "analysis/readiness/outlook/gap_outlook.hpp"
#include "logger/app/job/job.hpp"

namespace logger::app {

[[nodiscard]] inline analysis::physics::FloorRun floor_run_from(const JobMovement& movement) {
  using analysis::physics::FloorHold;
  return {
      movement.width,
      movement.pinned_one_side ? FloorHold::pinned_one_side : FloorHold::free_both_sides,
      analysis::readiness::outlook::coefficient_from_step(movement.expansion_50_to_80_fraction)};
}

}  // namespace logger::app
