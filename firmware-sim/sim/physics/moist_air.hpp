// Water vapour in air as the simulator sees it. Written for the simulator alone: the truth must not
// share a formula with the analysis that it tests.
#pragma once

#include "analysis/base/units.hpp"

namespace firmware::sim::physics {

// Saturation pressure over water. Source: Buck, Research Manual of Buck Research Instruments, 1996
// revision of the 1981 equation, water form (from memory); about 0.1 % within -20..50 deg C.
[[nodiscard]] analysis::base::Pascal saturation_pressure(analysis::base::Celsius t);

// Vapour density of air, ideal gas: p / (461.5 J/kgK * T).
[[nodiscard]] analysis::base::AbsoluteHumidity vapour_density(analysis::base::Celsius t,
                                                              analysis::base::RelativeHumidity rh);
// May exceed 1 when more vapour is given than the air can hold.
[[nodiscard]] analysis::base::RelativeHumidity rh_of(analysis::base::AbsoluteHumidity vapour,
                                                     analysis::base::Celsius t);
// Dew point, by bisection of saturation_pressure within -60..60 deg C.
[[nodiscard]] analysis::base::Celsius dew_point(analysis::base::AbsoluteHumidity vapour,
                                                analysis::base::Celsius t);

}  // namespace firmware::sim::physics
