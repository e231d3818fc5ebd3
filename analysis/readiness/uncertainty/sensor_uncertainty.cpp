#include "analysis/readiness/uncertainty/sensor_uncertainty.hpp"

#include <array>

#include "analysis/readiness/uncertainty/conformance.hpp"
#include "analysis/readiness/uncertainty/uncertainty_budget.hpp"

namespace analysis::readiness {
namespace {

constexpr double kHoursPerYear = 365.25 * 24.0;

SensorUncertainty with_accuracy(const SensorRecord& sensor, double accuracy, double years) {
  SensorUncertainty uncertainty;
  uncertainty.accuracy = accuracy;
  uncertainty.resolution = standard_from_resolution(sensor.units_per_count);
  if (sensor.specification) {
    uncertainty.drift = standard_from_limits(sensor.specification->drift_per_year * years);
    uncertainty.placement = standard_from_limits(sensor.specification->placement);
  }
  return uncertainty;
}

SensorUncertainty calibrated(const SensorRecord& sensor, const DatedCalibration& calibration) {
  const double years =
      base::hours_from(calibration.due_at - calibration.valid_from) / kHoursPerYear;
  return with_accuracy(
      sensor, standard_from_expanded(calibration.expanded_uncertainty, kCoverageFactor), years);
}

}  // namespace

double SensorUncertainty::combined() const {
  const std::array components{UncertaintyComponent{accuracy}, UncertaintyComponent{drift},
                              UncertaintyComponent{placement}, UncertaintyComponent{resolution}};
  return combined_standard(components);
}

std::optional<SensorUncertainty> sensor_uncertainty_from(const SensorRecord& sensor,
                                                         std::optional<base::UtcMicros> from) {
  const auto& calibrations = sensor.calibrations;
  std::optional<SensorUncertainty> largest;
  if (calibrations.empty() || !from || calibrations.front().valid_from > *from) {
    if (!sensor.specification) {
      return std::nullopt;
    }
    largest = with_accuracy(sensor, standard_from_limits(sensor.specification->accuracy), 1.0);
  }
  for (std::size_t i = 0; i < calibrations.size(); ++i) {
    const bool superseded_before =
        from && i + 1 < calibrations.size() && calibrations[i + 1].valid_from <= *from;
    if (superseded_before) {
      continue;
    }
    const SensorUncertainty candidate = calibrated(sensor, calibrations[i]);
    if (!largest || candidate.combined() > largest->combined()) {
      largest = candidate;
    }
  }
  return largest;
}

}  // namespace analysis::readiness
