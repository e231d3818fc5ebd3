#include "firmware-sim/sim/site/weather.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace firmware::sim::site {
namespace {

constexpr double kDayS = 86400.0;
constexpr double kWarmestS = 15.0 * 3600.0;  // after midnight UTC

}  // namespace

Weather::Weather(const WeatherParameters& parameters)
    : parameters_(parameters),
      temperature_wander_(parameters.wander_k, parameters.wander_memory_h * 3600.0),
      rh_wander_(parameters.wander_rh_fraction, parameters.wander_memory_h * 3600.0),
      temperature_(parameters.mean_celsius),
      rh_(parameters.mean_rh_fraction) {}

void Weather::advance(analysis::base::UtcMicros at, double step_s, physics::Noise& noise) {
  temperature_wander_.advance(step_s, noise);
  rh_wander_.advance(step_s, noise);
  set(at);
}

void Weather::set(analysis::base::UtcMicros at) {
  const double seconds = static_cast<double>(at.value) * 1e-6;
  const double warmth = std::cos(2.0 * std::numbers::pi * (seconds - kWarmestS) / kDayS);
  temperature_ = analysis::base::Celsius{
      parameters_.mean_celsius + parameters_.daily_swing_k * warmth + temperature_wander_.value()};
  const double rh = parameters_.mean_rh_fraction - parameters_.daily_swing_rh_fraction * warmth +
                    rh_wander_.value();
  rh_ = analysis::base::RelativeHumidity{std::clamp(rh, 0.05, 1.0)};
}

}  // namespace firmware::sim::site
