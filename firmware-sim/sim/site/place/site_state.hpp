// What probes at their places would find, without any error of theirs. Plain data.
#pragma once

#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"

namespace firmware::sim::site {

struct SiteState {
  analysis::base::UtcMicros at;
  analysis::base::Celsius outdoor_temperature;
  analysis::base::RelativeHumidity outdoor_rh;
  analysis::base::Celsius air_temperature;
  analysis::base::RelativeHumidity air_rh;
  analysis::base::Celsius core_temperature;  // of the room air until the cartons are there
  analysis::base::Celsius slab_surface_temperature;
  analysis::base::RelativeHumidity slab_rh;         // at probe depth
  analysis::base::KelvinDelta condensation_margin;  // slab surface above the dew point of the air
};

}  // namespace firmware::sim::site
