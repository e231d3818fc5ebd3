#include "analysis/readiness/stack/stack_tracker.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <numeric>

#include "analysis/physics/stack/warm_up.hpp"

namespace analysis::readiness {
namespace {

using base::Failure;
using base::Result;
using physics::DomainError;
using physics::StackField;

constexpr Micros kBetweenComparisons = std::chrono::hours{1};

physics::StackMaterial material_of(std::size_t set) {
  const std::array<physics::StackMaterial, kStackSets> sets{
      physics::kFastStack, physics::material_between(physics::kFastStack, physics::kMidStack),
      physics::kMidStack, physics::material_between(physics::kMidStack, physics::kSlowStack),
      physics::kSlowStack};
  return sets[set];
}

// REQUIRES: a checked geometry and a temperature within kColdestStack..kWarmestStack.
StackField field_of(std::size_t set, const physics::StackGeometry& geometry, Celsius temperature) {
  return StackField::start(geometry, material_of(set), temperature).value();
}

void push(AirMean& mean, Celsius air) {
  mean.celsius[mean.count % AirMean::kSteps] = air.value();
  ++mean.count;
}

std::optional<Celsius> mean_over(const AirMean& mean, std::size_t fewest_steps) {
  const std::size_t steps = std::min(mean.count, AirMean::kSteps);
  if (steps < fewest_steps) {
    return std::nullopt;
  }
  const auto end = mean.celsius.begin() + static_cast<std::ptrdiff_t>(steps);
  return Celsius{std::accumulate(mean.celsius.begin(), end, 0.0) / static_cast<double>(steps)};
}

std::optional<Celsius> three_hour_mean(const AirMean& mean) {
  return mean_over(mean, AirMean::kSteps);
}

KelvinDelta distance(Celsius a, Celsius b) { return KelvinDelta{std::abs((a - b).value())}; }

}  // namespace

StackTracker::StackTracker(const physics::StackGeometry& geometry, const StackTrackerPolicy& policy,
                           Micros slowest)
    : geometry_(geometry),
      policy_(policy),
      slowest_(slowest),
      follow_share_(-std::expm1(-base::seconds_from(physics::kLongestStackSubstep) /
                                base::seconds_from(slowest))) {}

Result<StackTracker, DomainError> StackTracker::unarmed(const physics::StackGeometry& geometry,
                                                        const StackTrackerPolicy& policy) {
  if (!(policy.within.value() > 0.0 && policy.away > policy.within)) {
    return Failure{DomainError::temperature_out_of_domain};
  }
  if (policy.longest_interval <= Micros{0}) {
    return Failure{DomainError::duration_out_of_domain};
  }
  const auto slowest = physics::slowest_time_constant(geometry, physics::kSlowStack);
  if (!slowest) {
    return Failure{slowest.error()};
  }
  return StackTracker{geometry, policy, slowest.value()};
}

Result<StackTracker, DomainError> StackTracker::start(const physics::StackGeometry& geometry,
                                                      const TemperatureReading& delivery,
                                                      const StackTrackerPolicy& policy) {
  if (!physics::is_followed(delivery.temperature)) {
    return Failure{DomainError::temperature_out_of_domain};
  }
  auto tracker = unarmed(geometry, policy);
  if (tracker) {
    tracker.value().arm({.at = delivery.at, .temperature = delivery.temperature});
  }
  return tracker;
}

Result<StackTracker, DomainError> StackTracker::resume(const physics::StackGeometry& geometry,
                                                       const StackTrackerState& state,
                                                       const StackTrackerPolicy& policy) {
  if (!physics::is_followed(state.arming.temperature) ||
      (state.follower && !physics::is_followed(*state.follower))) {
    return Failure{DomainError::temperature_out_of_domain};
  }
  auto tracker = unarmed(geometry, policy);
  if (!tracker) {
    return tracker;
  }
  if (state.follower) {
    tracker.value().state_ = state;
  } else {
    tracker.value().arm(state.arming);
    tracker.value().state_.air = air_path_from(state.arming.at);
    tracker.value().state_.air.before = state.arming.air_before;
  }
  return tracker;
}

UtcMicros StackTracker::needs_samples_from() const {
  const auto& used = state_.air.before;
  return used ? used->at + Micros{1} : state_.arming.at - policy_.longest_interval;
}

// The path of air is left as it is: a stretch may reach beyond the arming.
void StackTracker::arm(const StackArming& arming) {
  const AirPath air = arming.number == 1 ? air_path_from(arming.at) : state_.air;
  state_ = {.arming = arming,
            .air = air,
            .unknown_felt_s = arming.unknown_felt_s,
            .core = arming.core_before,
            .next_comparison = arming.at + kBetweenComparisons,
            .misfit = arming.misfit};
  fields_.clear();
  fields_.reserve(kStackSets);
  for (std::size_t set = 0; set < kStackSets; ++set) {
    fields_.push_back(field_of(set, geometry_, arming.temperature));
  }
}

void StackTracker::add(const StackSample& sample) {
  if (sample.core && physics::is_followed(*sample.core)) {
    add_core({sample.at, *sample.core});
  }
  if (sample.air && physics::is_followed(*sample.air)) {
    add_air(state_.air, {sample.at, *sample.air}, policy_.longest_interval);
    while (const auto step = next_step(state_.air, policy_.longest_interval)) {
      take(*step);
    }
  }
}

void StackTracker::add_core(const TemperatureReading& reading) {
  if (state_.core && reading.at <= state_.core->at) {
    return;
  }
  state_.core = reading;
  if (!state_.follower && !state_.core_to_compare && reading.at >= state_.next_comparison) {
    state_.core_to_compare = reading;
  }
}

void StackTracker::take(const AirStep& step) {
  push(state_.air_mean, step.mean);
  state_.unknown += step.unknown;
  state_.unknown_felt_s =
      (1.0 - follow_share_) * state_.unknown_felt_s + base::seconds_from(step.unknown);
  if (state_.follower) {
    follow(step);
  } else {
    warm(step);
  }
  const UtcMicros at = step.from + step.duration;
  if (step.unknown == Micros{0}) {
    note_warm(at);
  }
  if (!state_.follower) {
    drop_fields_when_settled(at);
  }
}

void StackTracker::warm(const AirStep& step) {
  const auto before = cores();
  for (StackField& field : fields_) {
    field.step(step.duration, step.air_from, step.air_to);
  }
  compare(step, before);
}

// One comparison an hour: the errors of neighbouring readings are not independent. None once air
// was unknown, for then a misfit says nothing about the material.
void StackTracker::compare(const AirStep& step, const std::array<Celsius, kStackSets>& before) {
  const UtcMicros step_to = step.from + step.duration;
  if (!state_.core_to_compare || state_.core_to_compare->at > step_to) {
    return;
  }
  const TemperatureReading measured = *state_.core_to_compare;
  state_.core_to_compare.reset();
  if (measured.at <= step.from || state_.unknown > Micros{0}) {
    return;
  }
  state_.next_comparison = measured.at + kBetweenComparisons;
  const double share =
      base::seconds_from(measured.at - step.from) / base::seconds_from(step.duration);
  const auto after = cores();
  for (std::size_t set = 0; set < kStackSets; ++set) {
    const double predicted = before[set].value() + share * (after[set] - before[set]).value();
    const double excess = predicted - measured.temperature.value();
    state_.misfit.sum_kelvin[set] += excess;
    state_.misfit.sum_kelvin2[set] += excess * excess;
  }
  ++state_.misfit.comparisons;
}

void StackTracker::follow(const AirStep& step) {
  state_.follower =
      *state_.follower + base::KelvinDelta{follow_share_ * (step.mean - *state_.follower).value()};
  const UtcMicros at = step.from + step.duration;
  const auto air = three_hour_mean(state_.air_mean);
  const Celsius stack = fresh_core(at).value_or(*state_.follower);
  if (air && distance(stack, *air) > policy_.away) {
    arm({.at = at,
         .temperature = stack,
         .number = state_.arming.number + 1,
         .air_before = state_.air.before,
         .core_before = state_.core,
         .unknown_felt_s = state_.unknown_felt_s,
         .misfit = state_.misfit});
  }
}

void StackTracker::note_warm(UtcMicros at) {
  const auto air = three_hour_mean(state_.air_mean);
  if (!air) {
    return;
  }
  const auto now = cores();
  for (std::size_t set = 0; set < kStackSets; ++set) {
    note_one(state_.warm_at[set], distance(now[set], *air), at);
  }
  if (const auto measured = fresh_core(at)) {
    note_one(state_.measured_warm_at, distance(*measured, *air), at);
  }
}

void StackTracker::note_one(std::optional<UtcMicros>& warm_at, KelvinDelta distance,
                            UtcMicros at) const {
  if (distance > policy_.away) {
    warm_at.reset();
  } else if (!warm_at && distance <= policy_.within) {
    warm_at = at;
  }
}

// A core that is near the air for a moment, at night say, has not settled: hence the wait. The
// second way out bounds the work for a gap of years.
void StackTracker::drop_fields_when_settled(UtcMicros at) {
  constexpr double kForgotten = 0.999;  // of what unknown air without end comes to
  const bool settled =
      std::all_of(state_.warm_at.begin(), state_.warm_at.end(),
                  [&](const auto& warm_at) { return warm_at && at - *warm_at >= slowest_; });
  if (settled || state_.unknown_felt_s >= kForgotten * base::seconds_from(slowest_)) {
    state_.follower = fields_.back().coldest_when_warming();
    fields_.clear();
  }
}

std::array<Celsius, kStackSets> StackTracker::cores() const {
  std::array<Celsius, kStackSets> now{};
  for (std::size_t set = 0; set < kStackSets; ++set) {
    now[set] = state_.follower ? *state_.follower : fields_[set].coldest_when_warming();
  }
  return now;
}

std::optional<Celsius> StackTracker::fresh_core(UtcMicros at) const {
  if (!state_.core || at - state_.core->at > policy_.longest_interval ||
      state_.core->at - at > policy_.longest_interval) {
    return std::nullopt;
  }
  return state_.core->temperature;
}

StackResult StackTracker::result() const {
  StackTracker now = *this;
  const auto open = open_step(state_.air);
  for (StackField& field : now.fields_) {
    if (open) {
      field.step(open->duration, open->air_from, open->air_to);
    }
  }
  const auto temperatures = now.cores();
  const auto measured = fresh_core(state_.air.reached);
  const auto core_of = [&](std::size_t set) {
    StackCore core{temperatures[set], state_.warm_at[set]};
    if (measured) {
      core = {*measured, state_.measured_warm_at};
    } else if (state_.measured_warm_at) {
      core.warm_at = state_.measured_warm_at;
    }
    return core;
  };
  const Micros unknown_open = open ? open->unknown : Micros{0};
  const StackSetRange range = plausible_sets(state_.misfit);
  return {.at = state_.air.reached,
          .fast = core_of(range.fast),
          .mid = core_of(range.mid),
          .slow = core_of(range.slow),
          .measured = measured.has_value(),
          .following = state_.follower.has_value(),
          .armed_at = state_.arming.at,
          .arming_number = state_.arming.number,
          .air_mean = three_hour_mean(state_.air_mean),
          .unknown_air = state_.unknown + unknown_open,
          .unknown_air_felt = Micros{std::llround(state_.unknown_felt_s * 1e6)} + unknown_open};
}

std::optional<StackTimeToWarm> StackTracker::time_to_warm(Micros horizon) const {
  const auto air = mean_over(state_.air_mean, 1);
  if (!air) {
    return std::nullopt;
  }
  const auto measured = fresh_core(state_.air.reached);
  if (measured && distance(*measured, *air) <= policy_.within) {
    return StackTimeToWarm{Micros{0}, Micros{0}, Micros{0}};
  }
  const auto time_of = [&](std::size_t set) {
    const StackField& field =
        state_.follower ? field_of(set, geometry_, *state_.follower) : fields_[set];
    return physics::time_until_within(field, *air, policy_.within, horizon);
  };
  const StackSetRange range = plausible_sets(state_.misfit);
  return StackTimeToWarm{time_of(range.fast), time_of(range.mid), time_of(range.slow)};
}

}  // namespace analysis::readiness
