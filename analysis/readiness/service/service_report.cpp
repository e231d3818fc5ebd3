#include "analysis/readiness/service/service_report.hpp"

#include <algorithm>

namespace analysis::readiness {

using base::Failure;
using base::Metres;
using base::MovementCoefficient;
using base::RelativeHumidity;
using base::Result;
using physics::DomainError;
using physics::FloorRun;

namespace {

// A gap that is short by less than this is short by rounding only.
constexpr double kGapRounding = 1e-6;

std::optional<MovementPair> moved_in(const ServiceFloor& floor,
                                     const std::optional<Spells>& spells) {
  return spells ? movement_pair_from(floor, spells->driest.mean, spells->dampest.mean)
                : std::nullopt;
}

}  // namespace

Result<ServiceMovement, DomainError> service_movement_from(const ServiceFloor& floor,
                                                           MovementCoefficient coefficient,
                                                           RelativeHumidity driest,
                                                           RelativeHumidity dampest) {
  FloorRun run = floor.run;
  run.coefficient = coefficient;
  const physics::ServiceHumidity humidity{floor.at_laying, driest, dampest};
  const auto moved = physics::floor_movement_from_rh(run, humidity);
  if (!moved) {
    return Failure{moved.error()};
  }
  ServiceMovement found{coefficient, moved.value().gap_each_side, moved.value().shrinkage, {}, {}};
  if (floor.panel) {
    run.width = *floor.panel;
    const auto panel = physics::floor_movement_from_rh(run, humidity);
    if (!panel) {
      return Failure{panel.error()};
    }
    found.shrinkage_of_panel = panel.value().shrinkage;
  }
  if (floor.gap) {
    found.gap_closed = found.growth_each_side.value() > floor.gap->value() + kGapRounding;
  }
  return found;
}

std::optional<MovementPair> movement_pair_from(const ServiceFloor& floor, RelativeHumidity driest,
                                               RelativeHumidity dampest) {
  const auto stated = service_movement_from(floor, floor.run.coefficient, driest, dampest);
  const auto typical = service_movement_from(floor, physics::kTypicalMovement, driest, dampest);
  return stated && typical ? std::optional(MovementPair{stated.value(), typical.value()})
                           : std::nullopt;
}

Result<std::optional<RelativeHumidity>, DomainError> rh_that_fills_gap(
    const ServiceFloor& floor, MovementCoefficient coefficient) {
  FloorRun run = floor.run;
  run.coefficient = coefficient;
  const auto to_saturation = physics::floor_movement_from_rh(
      run, {floor.at_laying, floor.at_laying, RelativeHumidity{1.0}});
  if (!to_saturation) {
    return Failure{to_saturation.error()};
  }
  const double most = to_saturation.value().gap_each_side.value();
  if (!floor.gap || floor.gap->value() >= most) {
    return std::optional<RelativeHumidity>{};
  }
  const double share = floor.gap->value() / most;  // movement is linear in humidity
  return std::optional(
      RelativeHumidity{floor.at_laying.value() + share * (1.0 - floor.at_laying.value())});
}

ServiceReport service_report_from(const ServiceLog& log, base::TimeRange since_laying,
                                  const ServiceClimate& climate,
                                  const std::optional<ServiceFloor>& floor) {
  ServiceReport report;
  report.days = log.days();
  const double elapsed = base::days_from(since_laying.to - since_laying.from);
  report.days_elapsed = static_cast<std::size_t>(std::max(0.0, elapsed));
  std::erase_if(report.days,
                [&](const ServiceDay& day) { return day.number >= report.days_elapsed; });
  report.outside = days_outside(report.days, climate);
  report.spells = spells_from(report.days, since_laying.from, kSpellDays, kLeastSpellDays);
  report.single = spells_from(report.days, since_laying.from, 1, 1);
  if (floor) {
    report.moved = moved_in(*floor, report.spells);
    report.moved_at_once = moved_in(*floor, report.single);
  }
  return report;
}

}  // namespace analysis::readiness
