#include "firmware-sim/sim/site/weather/weather.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace firmware::sim::site {
namespace {

constexpr double kDayS = 86400.0;
constexpr double kWarmestS = 15.0 * 3600.0;  // after midnight UTC

}  // namespace

Weather::Weather(const WeatherParameters& parameters, analysis::base::UtcMicros start)
    : parameters_(parameters),
      temperature_wander_(parameters.wander_k, parameters.wander_memory_h * 3600.0),
      rh_wander_(parameters.wander_rh_fraction, parameters.wander_memory_h * 3600.0) {
  set(start);
}

void Weather::advance(analysis::base::UtcMicros at, double step_s, physics::Noise& noise) {
  temperature_wander_.advance(step_s, noise);
  rh_wander_.advance(step_s, noise);
  set(at);
}

void Weather::set(analysis::base::UtcMicros at) {
  if (!parameters_.record.empty()) {
    const WeatherRow row = weather_at(parameters_.record, at);
    temperature_ = row.temperature;
    rh_ = row.rh;
    return;
  }
  const double seconds = static_cast<double>(at.value) * 1e-6;
  const double warmth = std::cos(2.0 * std::numbers::pi * (seconds - kWarmestS) / kDayS);
  temperature_ = analysis::base::Celsius{
      parameters_.mean_celsius + parameters_.daily_swing_k * warmth + temperature_wander_.value()};
  const double rh = parameters_.mean_rh_fraction - parameters_.daily_swing_rh_fraction * warmth +
                    rh_wander_.value();
  rh_ = analysis::base::RelativeHumidity{std::clamp(rh, 0.05, 1.0)};
}

}  // namespace firmware::sim::site
