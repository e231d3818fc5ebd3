// Cuts the room air into steps of exactly 15 minutes for the heat in the stack. Between two
// readings the air is the straight line through them; a step carries the straight line with the
// same mean and the same first moment, so that many readings cost one step. Pure; O(1) memory; the
// steps never depend on how the readings were cut into calls.
#pragma once

#include <optional>

#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"

namespace analysis::readiness {

using base::Celsius;
using base::Micros;
using base::UtcMicros;

struct TemperatureReading {
  UtcMicros at;
  Celsius temperature;
  bool operator==(const TemperatureReading&) const = default;
};

struct AirStep {
  UtcMicros from;
  Micros duration{0};
  Celsius air_from;  // the line; it may jump between two steps
  Celsius air_to;
  Celsius mean;
  Micros unknown{0};  // part of the duration in which the air is an estimate
};

// Where the cutting stands. All of it survives a restart by value.
struct AirPath {
  UtcMicros step_from;
  UtcMicros reached;                           // the air has been taken up to here
  double integral_kelvin_s = 0.0;              // of the deg C value, over the open step
  double moment_kelvin_s2 = 0.0;               // the same times the seconds since step_from
  Micros unknown{0};                           // within the open step
  std::optional<TemperatureReading> before{};  // last reading that was used up
  std::optional<TemperatureReading> latest{};  // end of the stretch that is being cut
  bool operator==(const AirPath&) const = default;
};

// A path of air that begins at `from`.
[[nodiscard]] constexpr AirPath air_path_from(UtcMicros from) {
  return {.step_from = from, .reached = from};
}

// A stretch between readings longer than `longest_interval` is unknown: it is bridged by the
// straight line as an estimate, and its time is counted in the steps. Air before the first reading
// is taken to be as that reading, unknown where the wait was longer. A reading that is not later
// than the one before, or earlier than the longest interval before the path, is left out.
// REQUIRES: next_step has given nullopt since the last reading.
void add_air(AirPath& path, const TemperatureReading& reading, Micros longest_interval);
// The next full step, nullopt when the readings don't reach its end yet.
[[nodiscard]] std::optional<AirStep> next_step(AirPath& path, Micros longest_interval);
// What the open step holds so far, nullopt when nothing.
[[nodiscard]] std::optional<AirStep> open_step(const AirPath& path);

}  // namespace analysis::readiness
