// Humidity at one depth of a drying slab over scaled time, solved once and then read at any time.
// Immutable after solving. Domain and limits of truth: those of DryingSlab.
#pragma once

#include <array>
#include <cstddef>
#include <optional>

#include "analysis/base/result.hpp"
#include "analysis/base/units.hpp"
#include "analysis/physics/domain_error.hpp"
#include "analysis/physics/slab/drying_slab.hpp"

namespace analysis::physics {

// Where a probe sits in a slab, as a share of the length that dries through one face.
inline constexpr double kProbeDepthShare = 0.4;

// The scaled times a curve is solved at: 0, then steps of 2e-4 growing by 9 % to at most 0.08.
inline constexpr std::size_t kCurvePoints = 235;
[[nodiscard]] constexpr std::array<double, kCurvePoints> make_curve_times() {
  std::array<double, kCurvePoints> times{};
  double step = 2e-4;
  for (std::size_t i = 1; i < kCurvePoints; ++i) {
    times[i] = times[i - 1] + step;
    step = step * 1.09 < 0.08 ? step * 1.09 : 0.08;
  }
  return times;
}
inline constexpr std::array<double, kCurvePoints> kCurveTimes = make_curve_times();

// A scaled time located once, to read many curves there.
struct CurvePlace {
  std::size_t first = 0;
  std::array<double, 4> weights{};
  double past_end = 0.0;  // scaled time beyond the last point; weights are unused where above 0
};
// REQUIRES: time >= 0.
[[nodiscard]] CurvePlace curve_place_from(ScaledTime time);

class DryingCurve {
 public:
  // Errors: those of DryingSlab. About a third of a millisecond.
  [[nodiscard]] static base::Result<DryingCurve, DomainError> solve(
      const DiffusivityTable& table, RelativeHumidity initial, RelativeHumidity air,
      double depth_share = kProbeDepthShare);

  // Cubic between the points; beyond the last, an exponential approach to the air's humidity at the
  // rate of the last step.
  [[nodiscard]] RelativeHumidity rh_at(const CurvePlace& place) const {
    if (place.past_end > 0.0) {
      return rh_past_end(place.past_end);
    }
    const double* rh = rh_.data() + place.first;
    return RelativeHumidity{place.weights[0] * rh[0] + place.weights[1] * rh[1] +
                            place.weights[2] * rh[2] + place.weights[3] * rh[3]};
  }

  // First time at or below `limit`: zero where it starts there, none where the air is not drier.
  [[nodiscard]] std::optional<ScaledTime> crossing_of(RelativeHumidity limit) const;

 private:
  DryingCurve() = default;
  [[nodiscard]] RelativeHumidity rh_past_end(double past_end) const;

  std::array<double, kCurvePoints> rh_{};
  double air_rh_ = 0.0;
  double late_rate_ = 0.0;  // of the approach to the air, per scaled time
};

}  // namespace analysis::physics
