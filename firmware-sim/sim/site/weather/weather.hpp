// Outdoor climate of the simulated site: a weather record, or a daily cycle plus slow seeded noise,
// which is invented. One thread.
#pragma once

#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"
#include "firmware-sim/sim/physics/noise.hpp"
#include "firmware-sim/sim/site/weather/weather_record.hpp"

namespace firmware::sim::site {

struct WeatherParameters {
  double mean_celsius = 3.0;
  double daily_swing_k = 4.0;  // half of highest minus lowest; highest at 15:00 UTC
  double wander_k = 1.5;       // standard deviation of the slow part
  double wander_memory_h = 18.0;
  double mean_rh_fraction = 0.82;
  double daily_swing_rh_fraction = 0.08;  // driest when warmest
  double wander_rh_fraction = 0.04;
  WeatherRecord record;  // takes the place of all that; empty = none
};

class Weather {
 public:
  Weather(const WeatherParameters& parameters, analysis::base::UtcMicros start);
  // Goes on by `step_s` seconds, to `at`.
  void advance(analysis::base::UtcMicros at, double step_s, physics::Noise& noise);
  [[nodiscard]] analysis::base::Celsius temperature() const { return temperature_; }
  // Synthetic weather: within 0.05..1; outdoor air that would be beyond saturation is saturated.
  [[nodiscard]] analysis::base::RelativeHumidity rh() const { return rh_; }

 private:
  void set(analysis::base::UtcMicros at);

  WeatherParameters parameters_;
  physics::WanderingNoise temperature_wander_;
  physics::WanderingNoise rh_wander_;
  analysis::base::Celsius temperature_;
  analysis::base::RelativeHumidity rh_;
};

}  // namespace firmware::sim::site
