#include "analysis/readiness/slab/forecast_evidence.hpp"

#include <algorithm>
#include <cmath>
#include <span>
#include <utility>

#include "analysis/physics/slab/concrete_diffusivity.hpp"

namespace analysis::readiness {
namespace {

using base::Failure;
using base::Result;

constexpr double kSecondsPerDay = 86400.0;
constexpr double kDepthToleranceMetres = 0.006;  // twice the deviation the probe's depth has
constexpr double kObservationsPerDay = 2.0;
constexpr double kMostObservations = 400.0;
constexpr double kLongestTemperatureGapDays = 2.0;  // beyond it the readings don't tell
constexpr std::size_t kNewestObservations = 4;      // two days
constexpr double kRisingWindowDays = 5.0;
constexpr double kRisingDeviations = 3.0;

Metres drying_length_from(const SlabHistory& history) {
  return Metres{history.thickness->value() * (history.dries_from_both_faces ? 0.5 : 1.0)};
}

bool knows_strength_it_can_use(const SlabHistory& history) {
  return !history.characteristic_strength ||
         physics::saturated_diffusivity_from_strength(*history.characteristic_strength).has_value();
}

std::optional<ForecastRefusal> refusal_of_slab(const SlabHistory& history) {
  if (!history.drying_started_at) {
    return ForecastRefusal::drying_start_unknown;
  }
  if (!history.thickness) {
    return ForecastRefusal::thickness_unknown;
  }
  const double thickness = history.thickness->value();
  if (!(thickness >= 0.03 && thickness <= 0.5) || !knows_strength_it_can_use(history)) {
    return ForecastRefusal::slab_outside_model;
  }
  if (!history.dries_from_both_faces && !history.barrier_below_confirmed) {
    return ForecastRefusal::no_barrier_confirmed;
  }
  if (!history.probe_depth) {
    return ForecastRefusal::probe_depth_unknown;
  }
  const double standard = physics::kProbeDepthShare * drying_length_from(history).value();
  if (!(std::abs(history.probe_depth->value() - standard) <= kDepthToleranceMetres + 1e-9)) {
    return ForecastRefusal::probe_depth_not_standard;
  }
  return std::nullopt;
}

std::optional<ForecastRefusal> refusal_of_values(const SlabHistory& history,
                                                 RelativeHumidity air_rh, RelativeHumidity limit) {
  const auto measurable = [](RelativeHumidity rh) {
    return rh.value() >= 0.60 && rh.value() <= 1.03;
  };
  const auto known = [](Celsius temperature) {
    return physics::diffusivity_factor_from_temperature(temperature).has_value();
  };
  for (const SlabReading& reading : history.readings) {
    if (!measurable(reading.rh)) {
      return ForecastRefusal::rh_outside_model;
    }
    if (reading.temperature && !known(*reading.temperature)) {
      return ForecastRefusal::temperature_outside_model;
    }
  }
  if (!known(history.slab_temperature)) {
    return ForecastRefusal::temperature_outside_model;
  }
  if (!(limit.value() >= 0.70 && limit.value() <= 0.95)) {
    return ForecastRefusal::rh_outside_model;
  }
  if (limit <= air_rh) {
    return ForecastRefusal::air_not_below_limit;
  }
  if (history.readings.front().at < *history.drying_started_at) {
    return ForecastRefusal::reading_before_drying;
  }
  return std::nullopt;
}

// Drying time from one reading to the next: the trapezium of their rates where both are known and
// close, the rate of the assumed temperature otherwise.
DryingTime drying_between(const SlabReading& before, const SlabReading& after, double assumed) {
  const double days = base::days_from(after.at - before.at);
  double rate = assumed;
  if (before.temperature && after.temperature && days <= kLongestTemperatureGapDays) {
    rate = 0.5 * (physics::diffusivity_factor_from_temperature(*before.temperature).value() +
                  physics::diffusivity_factor_from_temperature(*after.temperature).value());
  }
  return DryingTime{rate * days * kSecondsPerDay};
}

struct ThinnedRecord {
  std::vector<DryingObservation> observations;
  DryingTime until_last_reading{};
};

// The first reading of each bin of half a day, or of longer ones in a very long record.
ThinnedRecord thinned_record(const SlabHistory& history, double assumed) {
  const auto& readings = history.readings;
  const double bin_days = std::max(
      1.0 / kObservationsPerDay,
      base::days_from(readings.back().at - readings.front().at) / (kMostObservations - 1.0));
  ThinnedRecord record;
  DryingTime since_start{
      assumed * base::days_from(readings.front().at - *history.drying_started_at) * kSecondsPerDay};
  double last_bin = -1.0;
  for (std::size_t i = 0; i < readings.size(); ++i) {
    if (i > 0) {
      since_start += drying_between(readings[i - 1], readings[i], assumed);
    }
    const double day = base::days_from(readings[i].at - readings.front().at);
    const double bin = std::floor(day / bin_days);
    if (bin > last_bin) {
      record.observations.push_back({since_start, day, readings[i].rh});
      last_bin = bin;
    }
  }
  record.until_last_reading = since_start;
  return record;
}

// Whether the straight line through the observations rises beyond its own uncertainty.
bool rises(std::span<const DryingObservation> observations, double noise) {
  double mean_day = 0.0;
  for (const auto& each : observations) {
    mean_day += each.day / static_cast<double>(observations.size());
  }
  double moment = 0.0;
  double spread = 0.0;
  for (const auto& each : observations) {
    moment += (each.day - mean_day) * each.rh.value();
    spread += (each.day - mean_day) * (each.day - mean_day);
  }
  return spread > 0.0 &&
         moment / spread > kRisingDeviations * std::hypot(noise / std::sqrt(spread), kDriftPerDay);
}

std::optional<ForecastRefusal> refusal_of_course(std::span<const DryingObservation> observations,
                                                 RelativeHumidity noise, RelativeHumidity limit) {
  const std::size_t newest = std::min(kNewestObservations, observations.size());
  double newest_mean = 0.0;
  for (const auto& each : observations.last(newest)) {
    newest_mean += each.rh.value() / static_cast<double>(newest);
  }
  if (newest_mean <= limit.value()) {
    return ForecastRefusal::already_at_limit;
  }
  const auto recent = std::find_if(observations.begin(), observations.end(), [&](const auto& each) {
    return each.day >= observations.back().day - kRisingWindowDays;
  });
  if (rises(observations, noise.value()) || rises({recent, observations.end()}, noise.value())) {
    return ForecastRefusal::readings_rising;
  }
  return std::nullopt;
}

}  // namespace

Result<ForecastEvidence, RefusedForecast> forecast_evidence_from(const SlabHistory& history,
                                                                 RelativeHumidity air_rh,
                                                                 const ForecastQuestion& question) {
  if (const auto refusal = refusal_of_slab(history)) {
    return Failure{RefusedForecast{*refusal}};
  }
  if (history.readings.empty()) {
    return Failure{RefusedForecast{ForecastRefusal::no_settled_readings, kFewestReadingDays}};
  }
  if (const auto refusal = refusal_of_values(history, air_rh, question.limit)) {
    return Failure{RefusedForecast{*refusal}};
  }
  const double rate =
      physics::diffusivity_factor_from_temperature(history.slab_temperature).value();
  ThinnedRecord record = thinned_record(history, rate);
  const auto& observations = record.observations;
  const double missing_days =
      std::max(kFewestReadingDays - observations.back().day,
               (static_cast<double>(kFewestReadings) - static_cast<double>(observations.size())) /
                   kObservationsPerDay);
  if (missing_days > 0.0) {
    return Failure{RefusedForecast{ForecastRefusal::too_few_readings, missing_days}};
  }
  if (const auto refusal = refusal_of_course(observations, history.probe.noise, question.limit)) {
    return Failure{RefusedForecast{*refusal}};
  }
  const double days_since = base::days_from(question.now - history.readings.back().at);
  const DryingTime until_now =
      record.until_last_reading + DryingTime{rate * days_since * kSecondsPerDay};
  return ForecastEvidence{std::move(record.observations), until_now, rate,
                          drying_length_from(history)};
}

}  // namespace analysis::readiness
