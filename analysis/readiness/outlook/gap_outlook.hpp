// Whether the gap left beside a floor is wide enough for the humidity it will see. Pure; sources
// and limits of the formulas in physics/panel/movement.hpp.
#pragma once

#include <optional>

#include "analysis/base/result.hpp"
#include "analysis/physics/panel/movement.hpp"

namespace analysis::readiness::outlook {

// Growth per RH from that of the step from 50 to 80 %RH, by which boards are published.
[[nodiscard]] constexpr base::MovementCoefficient coefficient_from_step(
    double growth_50_to_80_fraction) {
  return base::MovementCoefficient{growth_50_to_80_fraction / 0.30};
}

struct GapQuestion {
  physics::FloorRun run;
  base::Metres gap_each_side;
  physics::ServiceHumidity humidity;
};

struct GapAnswer {
  physics::FloorMovement movement;
  bool fits = false;
  base::Metres short_by;                    // zero where it fits
  std::optional<base::Metres> widest_run;   // that this gap allows; nullopt = any, it only shrinks
  std::optional<base::Metres> joint_every;  // length of equal parts that fit; nullopt = needs none
};
// Errors of physics/panel/movement.hpp. Equal parts: the smallest number of them whose length is
// within widest_run; nullopt also where no part would fit.
[[nodiscard]] base::Result<GapAnswer, physics::DomainError> gap_answer_from(
    const GapQuestion& question);

// What the practice "10 mm, a joint beyond 7 m" means for panels with that coefficient.
inline constexpr base::Metres kPracticeRun{7.0};   // common practice
inline constexpr base::Metres kPracticeGap{0.01};  // common practice
struct JointPractice {
  base::Metres gap_needed;  // each side of a run of kPracticeRun, from 50 to 80 %RH
  base::Metres widest_run;  // that kPracticeGap allows in the same change
};
// material_out_of_domain as of physics/panel/movement.hpp; also for a coefficient of zero, whose
// run has no widest.
[[nodiscard]] base::Result<JointPractice, physics::DomainError> joint_practice_from(
    base::MovementCoefficient coefficient);

}  // namespace analysis::readiness::outlook
