// A humidity channel calibrated at two fixed points, for example over two saturated salt solutions.
// Pure. Source of the combination: JCGM 100:2008, 5.1.2.
#pragma once

#include <cstdint>

#include "analysis/base/result.hpp"
#include "analysis/base/units.hpp"

namespace analysis::readiness {

// What the channel showed, before any correction, while the true humidity was known.
struct FixedPoint {
  base::RelativeHumidity reference;
  base::RelativeHumidity expanded_uncertainty;  // of the reference, k = 2
  base::RelativeHumidity reading;               // nominal: counts times scale
  base::RelativeHumidity repeatability;         // standard uncertainty of that reading
};

// corrected = gain * reading + offset, as DatedCalibration has it.
struct TwoPointCalibration {
  double gain = 1.0;
  double offset_percent_rh = 0.0;
  double expanded_uncertainty_percent_rh = 0.0;  // k = 2, largest between the two points
  base::RelativeHumidity low;                    // corrected values it holds between
  base::RelativeHumidity high;
};

enum class CalibrationFault : std::uint8_t {
  points_too_close = 1,  // less than kSmallestSpan apart
  implausible_gain =
      2,  // outside 0.5..2: the readings belong to other points, or the sensor is lost
};
inline constexpr base::RelativeHumidity kSmallestSpan{0.20};  // our assumption

// Exact at both points. On the line between them the variance is largest at an end, because the
// weights of the two errors are between 0 and 1; beyond them it grows, so nothing is said there.
[[nodiscard]] base::Result<TwoPointCalibration, CalibrationFault> calibration_from_fixed_points(
    const FixedPoint& one, const FixedPoint& other);

}  // namespace analysis::readiness
