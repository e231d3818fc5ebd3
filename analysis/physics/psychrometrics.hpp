// Moist air: vapour pressure, dew point and relative humidity. Pure functions, no state. Nothing
// outside a stated domain is computed: the result is then a DomainError, never a clamped value.
// Relative humidity is over liquid water at every temperature, also below 0 deg C, because that is
// what humidity sensors report; RH over ice is not accepted anywhere. Source: common practice of
// sensor makers and of meteorology (from memory).
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/base/units.hpp"
#include "analysis/physics/domain_error.hpp"

namespace analysis::physics {

using base::Celsius;
using base::Pascal;
using base::RelativeHumidity;

// Saturation pressure over liquid water, -40..200 deg C.
// Source: ASHRAE Fundamentals 2017, ch. 1, eq. 6 (Hyland and Wexler 1983), whose domain is
// 0..200 deg C; below 0 it is carried on over supercooled water, within 0.8 % of Murphy and Koop
// 2005 down to -40 deg C (tests/physics/psychrometrics_test.cpp). Within 170 ppm of Wagner and
// Pruss at 10..30 deg C.
[[nodiscard]] base::Result<Pascal, DomainError> saturation_pressure_over_water(Celsius dry_bulb);

// Saturation pressure over ice, -100..0 deg C. Source: as above, eq. 5. Within 200 ppm of the
// handbook's Table 3.
[[nodiscard]] base::Result<Pascal, DomainError> saturation_pressure_over_ice(Celsius dry_bulb);

// Partial pressure of water vapour, rh in 0..1.
[[nodiscard]] base::Result<Pascal, DomainError> vapour_pressure_from_rh(Celsius dry_bulb,
                                                                        RelativeHumidity rh);

// Temperature at which that vapour is saturated over water (dew point) or over ice (frost point).
// Below 0 deg C the frost point is the higher of the two. Inverse of the saturation pressures to
// 1e-6 K, with their domains; zero pressure has neither point.
[[nodiscard]] base::Result<Celsius, DomainError> dew_point_from_vapour_pressure(Pascal vapour);
[[nodiscard]] base::Result<Celsius, DomainError> frost_point_from_vapour_pressure(Pascal vapour);

// The dew point of air as a sensor reports it.
[[nodiscard]] base::Result<Celsius, DomainError> dew_point_from_rh(Celsius dry_bulb,
                                                                   RelativeHumidity rh);

// RH of the same vapour at another temperature, for example at a cold surface; above_saturation
// where it would condense there.
[[nodiscard]] base::Result<RelativeHumidity, DomainError> rh_at_temperature(Celsius dry_bulb,
                                                                            RelativeHumidity rh,
                                                                            Celsius other);

}  // namespace analysis::physics
