#include "analysis/readiness/uncertainty/margin_uncertainty.hpp"

#include <cmath>

#include "analysis/physics/psychrometrics.hpp"

namespace analysis::readiness {

std::optional<base::KelvinDelta> margin_uncertainty_from(const MarginKnown& known) {
  const auto slopes = physics::dew_point_slopes_from_rh(known.air, known.rh);
  if (!slopes || !known.air_uncertainty.temperature || !known.air_uncertainty.rh) {
    return std::nullopt;
  }
  return base::KelvinDelta{
      std::hypot(known.surface_uncertainty.value(),
                 slopes.value().by_dry_bulb.value() * known.air_uncertainty.temperature->value(),
                 slopes.value().by_rh.value() * known.air_uncertainty.rh->value())};
}

}  // namespace analysis::readiness
