#include "analysis/readiness/outlook/gap_outlook.hpp"

#include <algorithm>
#include <cmath>

namespace analysis::readiness::outlook {

using base::Failure;
using base::Metres;
using base::RelativeHumidity;
using base::Result;
using physics::DomainError;

Result<GapAnswer, DomainError> gap_answer_from(const GapQuestion& question) {
  const auto movement = physics::floor_movement_from_rh(question.run, question.humidity);
  const auto widest =
      physics::largest_width_from_gap(question.run, question.gap_each_side, question.humidity);
  const auto joint = physics::needs_joint(question.run, question.gap_each_side, question.humidity);
  if (!movement || !widest || !joint) {
    return Failure{!movement ? movement.error() : !widest ? widest.error() : joint.error()};
  }
  GapAnswer answer{.movement = movement.value(),
                   .fits = !joint.value(),
                   .short_by = {},
                   .widest_run = widest.value(),
                   .joint_every = {}};
  if (!answer.fits) {
    answer.short_by = Metres{
        std::max(0.0, answer.movement.gap_each_side.value() - question.gap_each_side.value())};
    if (answer.widest_run && answer.widest_run->value() > 0.0) {
      const double width = question.run.width.value();
      answer.joint_every = Metres{width / std::ceil(width / answer.widest_run->value())};
    }
  }
  return answer;
}

Result<JointPractice, DomainError> joint_practice_from(base::MovementCoefficient coefficient) {
  const physics::FloorRun run{kPracticeRun, physics::FloorHold::free_both_sides, coefficient};
  const physics::ServiceHumidity humidity{RelativeHumidity{0.5}, RelativeHumidity{0.5},
                                          RelativeHumidity{0.8}};
  const auto movement = physics::floor_movement_from_rh(run, humidity);
  const auto widest = physics::largest_width_from_gap(run, kPracticeGap, humidity);
  if (!movement || !widest || !widest.value()) {
    return Failure{!movement ? movement.error() : DomainError::material_out_of_domain};
  }
  return JointPractice{movement.value().gap_each_side, *widest.value()};
}

}  // namespace analysis::readiness::outlook
