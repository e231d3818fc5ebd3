// Air of a place that nobody conditions with care: another room, a parked van. One heat lump and
// one vapour lump. One thread.
#pragma once

#include "analysis/base/units.hpp"

namespace firmware::sim::site {

// Every figure invented.
struct PlaceParameters {
  double settles_at_celsius = 0.0;  // where it is heated; unheated it settles at the outdoors
  bool heated = false;
  double sun_k = 0.0;  // how far full sun warms it beyond that, when it has time
  double time_constant_h = 1.0;
  double air_changes_per_h = 0.5;
  double vapour_g_per_m3h = 0.0;  // of people and cooking
};

struct PlaceForcing {
  analysis::base::Celsius outdoor_temperature;
  analysis::base::RelativeHumidity outdoor_rh;
  double sun_share = 0.0;  // of full sun under the mean sky; 0..2
};

class PlaceAir {
 public:
  // At rest with the outdoors, without sun.
  PlaceAir(const PlaceParameters& parameters, const PlaceForcing& outdoors);

  // Backward Euler. Vapour beyond saturation falls out. REQUIRES: step_s > 0.
  void advance(double step_s, const PlaceForcing& forcing);
  [[nodiscard]] analysis::base::Celsius temperature() const { return temperature_; }
  [[nodiscard]] analysis::base::RelativeHumidity rh() const;

 private:
  [[nodiscard]] double settling_celsius(const PlaceForcing& forcing) const;
  void limit_to_saturation();

  PlaceParameters parameters_;
  analysis::base::Celsius temperature_;
  analysis::base::AbsoluteHumidity vapour_;
};

}  // namespace firmware::sim::site
