#include "analysis/physics/slab/drying_curve.hpp"

#include <algorithm>
#include <cmath>

#include "analysis/physics/slab/cubic_through_four.hpp"

namespace analysis::physics {
namespace {

using base::Failure;
using base::Result;

constexpr double kCrossingTolerance = 1e-9;  // scaled time

}  // namespace

CurvePlace curve_place_from(ScaledTime time) {
  CurvePlace place;
  place.past_end = std::max(0.0, time.value() - kCurveTimes.back());
  const auto above = std::upper_bound(kCurveTimes.begin(), kCurveTimes.end(), time.value());
  const auto before = static_cast<std::size_t>(above - kCurveTimes.begin());  // points up to time
  place.first = std::clamp<std::size_t>(before, 2, kCurvePoints - 2) - 2;
  place.weights = cubic_weights({kCurveTimes[place.first], kCurveTimes[place.first + 1],
                                 kCurveTimes[place.first + 2], kCurveTimes[place.first + 3]},
                                time.value());
  return place;
}

Result<DryingCurve, DomainError> DryingCurve::solve(const DiffusivityTable& table,
                                                    RelativeHumidity initial, RelativeHumidity air,
                                                    double depth_share) {
  auto slab = DryingSlab::at_start(initial, air);
  if (!slab) {
    return Failure{slab.error()};
  }
  DryingCurve curve;
  curve.air_rh_ = air.value();
  for (std::size_t i = 0; i < kCurvePoints; ++i) {
    if (i > 0) {
      const auto advanced =
          slab.value().advance(table, ScaledTime{kCurveTimes[i] - kCurveTimes[i - 1]});
      if (!advanced) {
        return Failure{advanced.error()};
      }
    }
    const auto rh = slab.value().rh_at_depth(depth_share);
    if (!rh) {
      return Failure{rh.error()};
    }
    curve.rh_[i] = rh.value().value();
  }
  const double last_step = kCurveTimes[kCurvePoints - 1] - kCurveTimes[kCurvePoints - 2];
  const double above_air = curve.rh_[kCurvePoints - 1] - curve.air_rh_;
  const double above_air_before = curve.rh_[kCurvePoints - 2] - curve.air_rh_;
  if (above_air > kCrossingTolerance && above_air_before > above_air) {
    curve.late_rate_ = std::log(above_air_before / above_air) / last_step;
  }
  return curve;
}

RelativeHumidity DryingCurve::rh_past_end(double past_end) const {
  return RelativeHumidity{air_rh_ + (rh_.back() - air_rh_) * std::exp(-late_rate_ * past_end)};
}

std::optional<ScaledTime> DryingCurve::crossing_of(RelativeHumidity limit) const {
  if (limit.value() <= air_rh_) {
    return std::nullopt;
  }
  const auto found =
      std::find_if(rh_.begin(), rh_.end(), [&](double rh) { return rh <= limit.value(); });
  if (found == rh_.begin()) {
    return ScaledTime{0.0};
  }
  if (found == rh_.end()) {
    const double ratio = (rh_.back() - air_rh_) / (limit.value() - air_rh_);
    return late_rate_ > 0.0
               ? std::optional{ScaledTime{kCurveTimes.back() + std::log(ratio) / late_rate_}}
               : std::nullopt;
  }
  const auto after = static_cast<std::size_t>(found - rh_.begin());
  double low = kCurveTimes[after - 1];
  double high = kCurveTimes[after];
  while (high - low > kCrossingTolerance * (1.0 + low)) {
    const double middle = 0.5 * (low + high);
    const bool reached = rh_at(curve_place_from(ScaledTime{middle})) <= limit;
    (reached ? high : low) = middle;
  }
  return ScaledTime{0.5 * (low + high)};
}

}  // namespace analysis::physics
