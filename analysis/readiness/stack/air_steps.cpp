#include "analysis/readiness/stack/air_steps.hpp"

#include <algorithm>
#include <cassert>
#include <chrono>

#include "analysis/physics/stack/stack_heat.hpp"

namespace analysis::readiness {
namespace {

constexpr Micros kStep = physics::kLongestStackSubstep;

Celsius air_at(const TemperatureReading& a, const TemperatureReading& b, UtcMicros at) {
  const double share = base::seconds_from(at - a.at) / base::seconds_from(b.at - a.at);
  return Celsius{a.temperature.value() + share * (b.temperature - a.temperature).value()};
}

void take_up_to(AirPath& path, UtcMicros end, Micros longest_interval) {
  if (end <= path.reached) {
    return;
  }
  const double from = air_at(*path.before, *path.latest, path.reached).value();
  const double to = air_at(*path.before, *path.latest, end).value();
  const double begin_s = base::seconds_from(path.reached - path.step_from);
  const double span_s = base::seconds_from(end - path.reached);
  path.integral_kelvin_s += 0.5 * span_s * (from + to);
  path.moment_kelvin_s2 +=
      span_s * (0.5 * begin_s * (from + to) + span_s * (from / 6.0 + to / 3.0));
  if (path.latest->at - path.before->at > longest_interval) {
    path.unknown += end - path.reached;
  }
  path.reached = end;
}

}  // namespace

void add_air(AirPath& path, const TemperatureReading& reading, Micros longest_interval) {
  assert(!path.latest);
  const bool left_out =
      path.before ? reading.at <= path.before->at : reading.at < path.reached - longest_interval;
  if (left_out) {
    return;
  }
  if (!path.before) {
    path.before = {path.reached, reading.temperature};
  }
  path.latest = reading;
}

std::optional<AirStep> next_step(AirPath& path, Micros longest_interval) {
  if (!path.latest) {
    return std::nullopt;
  }
  const UtcMicros step_to = path.step_from + kStep;
  take_up_to(path, std::min(path.latest->at, step_to), longest_interval);
  if (path.reached < step_to) {
    path.before = path.latest;
    path.latest.reset();
    return std::nullopt;
  }
  const auto step = open_step(path);
  path.step_from = step_to;
  path.integral_kelvin_s = 0.0;
  path.moment_kelvin_s2 = 0.0;
  path.unknown = Micros{0};
  return step;
}

std::optional<AirStep> open_step(const AirPath& path) {
  const Micros duration = path.reached - path.step_from;
  if (duration <= Micros{0}) {
    return std::nullopt;
  }
  const double seconds = base::seconds_from(duration);
  const double mean = path.integral_kelvin_s / seconds;
  const double half_rise =
      6.0 * (path.moment_kelvin_s2 / seconds - 0.5 * path.integral_kelvin_s) / seconds;
  return AirStep{.from = path.step_from,
                 .duration = duration,
                 .air_from = Celsius{mean - half_rise},
                 .air_to = Celsius{mean + half_rise},
                 .mean = Celsius{mean},
                 .unknown = path.unknown};
}

}  // namespace analysis::readiness
