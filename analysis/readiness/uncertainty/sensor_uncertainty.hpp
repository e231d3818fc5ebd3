// How far a channel's values may be off, from what its paper says and its calibrations. Pure; all
// numbers in the file unit of the channel's role (celsius, percent_rh, volt).
#pragma once

#include <optional>
#include <span>
#include <string>

#include "analysis/base/time.hpp"
#include "analysis/readiness/calibration.hpp"

namespace analysis::readiness {

// As entered in the job; every value is a half width within which any error is as likely.
struct SensorSpecification {
  double accuracy = 0.0;        // of the sensor as it came from its maker
  double drift_per_year = 0.0;  // since the maker's paper or a calibration
  double placement = 0.0;       // the place beside what it stands for: a shelf for the room
  std::string source;           // who says so
  bool operator==(const SensorSpecification&) const = default;
};

// Standard uncertainties; the errors are common to all readings of the sensor.
struct SensorUncertainty {
  double accuracy = 0.0;  // of the calibration in force, else of the specification
  double drift = 0.0;     // over the whole time the calibration or paper is good for
  double placement = 0.0;
  double resolution = 0.0;
  [[nodiscard]] double combined() const;
  bool operator==(const SensorUncertainty&) const = default;
};

struct SensorRecord {
  std::optional<SensorSpecification> specification;
  std::span<const DatedCalibration> calibrations;  // increasing valid_from
  double units_per_count = 0.01;
};

// The largest uncertainty of anything that was in force at or after `from` (nullopt = ever), so
// that a decision over a stretch of time rests on one number that no later reading changes.
// A maker's paper without a date counts as a year old. nullopt where for some of that time nothing
// says how accurate the sensor is. A calibration replaces the accuracy; drift and placement stay.
[[nodiscard]] std::optional<SensorUncertainty> sensor_uncertainty_from(
    const SensorRecord& sensor, std::optional<base::UtcMicros> from);

}  // namespace analysis::readiness
