// What of a slab's history a forecast can use: the checks that refuse the rest, the readings
// thinned out, and time counted in days of drying at 20 deg C. Pure.
#pragma once

#include <chrono>
#include <vector>

#include "analysis/readiness/slab/slab_forecast.hpp"

namespace analysis::readiness {

// Time at 20 deg C in which as much drying happens.
using DryingTime = std::chrono::duration<double>;

// Standard uncertainty of the readings' slope: seasons, drift and the model's shape (our
// assumption).
inline constexpr double kDriftPerDay = 1e-4;  // RH

struct DryingObservation {
  DryingTime since_start{};
  double day = 0.0;  // calendar days since the first observation
  RelativeHumidity rh;
};

struct ForecastEvidence {
  std::vector<DryingObservation> observations;
  DryingTime drying_until_now{};
  double drying_rate = 1.0;  // drying time per time from now on
  Metres drying_length;      // thickness, or half of it
};

// At most two observations a day, and at most 400.
[[nodiscard]] base::Result<ForecastEvidence, RefusedForecast> forecast_evidence_from(
    const SlabHistory& history, RelativeHumidity air_rh, const ForecastQuestion& question);

}  // namespace analysis::readiness
