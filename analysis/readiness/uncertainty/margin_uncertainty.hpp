// How uncertain the margin of a surface above the dew point of the room air is. Pure.
#pragma once

#include <optional>

#include "analysis/base/units.hpp"
#include "analysis/readiness/requirements.hpp"

namespace analysis::readiness {

// What the margin was made from: the mean room air, and standard uncertainties.
struct MarginKnown {
  Celsius air;
  RelativeHumidity rh;
  AirUncertainty air_uncertainty;
  base::KelvinDelta surface_uncertainty;
};
// Standard; that of the dew point comes from both air sensors and is combined with the surface's,
// errors being independent (JCGM 100:2008, 5.1.2, from memory). nullopt where an uncertainty of the
// air is not known or the air lies outside physics/psychrometrics.
[[nodiscard]] std::optional<base::KelvinDelta> margin_uncertainty_from(const MarginKnown& known);

}  // namespace analysis::readiness
