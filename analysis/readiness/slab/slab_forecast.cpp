#include "analysis/readiness/slab/slab_forecast.hpp"

#include <algorithm>
#include <limits>

#include "analysis/readiness/slab/forecast_evidence.hpp"
#include "analysis/readiness/slab/slab_posterior.hpp"

namespace analysis::readiness {
namespace {

using base::Failure;
using base::Result;

constexpr double kSecondsPerYear = 365.25 * 86400.0;
constexpr double kPoorFitNoises = 3.0;

struct WeightedWait {
  double seconds;  // from now; below zero = crossed before, infinite = never
  double weight;
};

std::vector<WeightedWait> sorted_waits(const SlabPosterior& posterior,
                                       const ForecastEvidence& evidence) {
  std::vector<WeightedWait> waits;
  waits.reserve(posterior.nodes.size());
  for (const CrossingNode& node : posterior.nodes) {
    const double seconds =
        node.crossing ? (*node.crossing - evidence.drying_until_now).count() / evidence.drying_rate
                      : std::numeric_limits<double>::infinity();
    waits.push_back({seconds, node.weight});
  }
  std::sort(waits.begin(), waits.end(),
            [](const WeightedWait& a, const WeightedWait& b) { return a.seconds < b.seconds; });
  return waits;
}

// The wait by which `share` of the weight has crossed.
double wait_at(const std::vector<WeightedWait>& waits, double share) {
  double weight = 0.0;
  for (const WeightedWait& wait : waits) {
    weight += wait.weight;
    if (weight >= share) {
      return wait.seconds;
    }
  }
  return waits.back().seconds;
}

CrossingDate date_from_wait(double seconds, const ForecastQuestion& question) {
  const double horizon = question.horizon_years * kSecondsPerYear;
  const auto after = [&](double wait) {
    return question.now + base::micros_from_hours(wait / 3600.0);
  };
  if (seconds <= 0.0) {
    return {CrossingDate::Kind::already_below, question.now};
  }
  if (seconds > horizon) {
    return {CrossingDate::Kind::beyond_horizon, after(horizon)};
  }
  return {CrossingDate::Kind::dated, after(seconds)};
}

}  // namespace

Result<SlabForecast, RefusedForecast> slab_forecast_from(const SlabHistory& history,
                                                         const DryingLibrary& library,
                                                         const ForecastQuestion& question) {
  const auto evidence = forecast_evidence_from(history, library.air_rh(), question);
  if (!evidence) {
    return Failure{evidence.error()};
  }
  const SlabPosterior posterior = slab_posterior_from(
      library, evidence.value(), diffusivity_prior_from(history.characteristic_strength),
      history.probe, question.limit);
  if (posterior.residual.value() > kPoorFitNoises * history.probe.noise.value()) {
    return Failure{RefusedForecast{ForecastRefusal::poor_fit}};
  }
  const auto waits = sorted_waits(posterior, evidence.value());
  SlabForecast forecast{.early = date_from_wait(wait_at(waits, 0.1), question),
                        .median = date_from_wait(wait_at(waits, 0.5), question),
                        .late = date_from_wait(wait_at(waits, 0.9), question),
                        .residual = posterior.residual,
                        .readings_used = evidence.value().observations.size()};
  for (const WeightedWait& wait : waits) {
    forecast.probability_already_below += wait.seconds <= 0.0 ? wait.weight : 0.0;
    forecast.probability_beyond_horizon +=
        wait.seconds > question.horizon_years * kSecondsPerYear ? wait.weight : 0.0;
  }
  return forecast;
}

}  // namespace analysis::readiness
