#include "analysis/readiness/uncertainty/two_point_calibration.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "analysis/readiness/uncertainty/conformance.hpp"
#include "analysis/readiness/uncertainty/uncertainty_budget.hpp"

namespace analysis::readiness {
namespace {

// An error of the reading moves the corrected value by `gain` times itself.
double expanded_percent_at(const FixedPoint& point, double gain) {
  const std::array components{
      UncertaintyComponent{standard_from_expanded(base::percent_from_rh(point.expanded_uncertainty),
                                                  kCoverageFactor)},
      UncertaintyComponent{gain * base::percent_from_rh(point.repeatability)}};
  return kCoverageFactor * combined_standard(components);
}

}  // namespace

base::Result<TwoPointCalibration, CalibrationFault> calibration_from_fixed_points(
    const FixedPoint& one, const FixedPoint& other) {
  constexpr double kLowestGain = 0.5;
  constexpr double kHighestGain = 2.0;
  const double span = other.reference.value() - one.reference.value();
  if (!(std::abs(span) >= kSmallestSpan.value())) {
    return base::Failure{CalibrationFault::points_too_close};
  }
  const double gain = span / (other.reading.value() - one.reading.value());
  if (!(gain >= kLowestGain && gain <= kHighestGain)) {
    return base::Failure{CalibrationFault::implausible_gain};
  }
  TwoPointCalibration result;
  result.gain = gain;
  result.offset_percent_rh =
      base::percent_from_rh(one.reference) - gain * base::percent_from_rh(one.reading);
  result.expanded_uncertainty_percent_rh =
      std::max(expanded_percent_at(one, gain), expanded_percent_at(other, gain));
  result.low = std::min(one.reference, other.reference);
  result.high = std::max(one.reference, other.reference);
  return result;
}

}  // namespace analysis::readiness
