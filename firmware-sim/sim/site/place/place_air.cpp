#include "firmware-sim/sim/site/place/place_air.hpp"

#include <algorithm>

#include "firmware-sim/sim/physics/moist_air.hpp"

namespace firmware::sim::site {

using analysis::base::AbsoluteHumidity;
using analysis::base::Celsius;
using analysis::base::RelativeHumidity;

PlaceAir::PlaceAir(const PlaceParameters& parameters, const PlaceForcing& outdoors)
    : parameters_(parameters),
      temperature_(settling_celsius(outdoors)),
      vapour_(physics::vapour_density(outdoors.outdoor_temperature, outdoors.outdoor_rh).value() +
              1e-3 * parameters.vapour_g_per_m3h / parameters.air_changes_per_h) {
  limit_to_saturation();
}

double PlaceAir::settling_celsius(const PlaceForcing& forcing) const {
  return (parameters_.heated ? parameters_.settles_at_celsius
                             : forcing.outdoor_temperature.value()) +
         parameters_.sun_k * forcing.sun_share;
}

void PlaceAir::advance(double step_s, const PlaceForcing& forcing) {
  const double heat = step_s / (parameters_.time_constant_h * 3600.0);
  temperature_ = Celsius{(temperature_.value() + heat * settling_celsius(forcing)) / (1.0 + heat)};
  const double air = step_s * parameters_.air_changes_per_h / 3600.0;
  const double outdoors =
      physics::vapour_density(forcing.outdoor_temperature, forcing.outdoor_rh).value();
  const double source = 1e-3 * parameters_.vapour_g_per_m3h / 3600.0 * step_s;
  vapour_ = AbsoluteHumidity{(vapour_.value() + air * outdoors + source) / (1.0 + air)};
  limit_to_saturation();
}

void PlaceAir::limit_to_saturation() {
  vapour_ = std::min(vapour_, physics::vapour_density(temperature_, RelativeHumidity{1.0}));
}

RelativeHumidity PlaceAir::rh() const { return physics::rh_of(vapour_, temperature_); }

}  // namespace firmware::sim::site
