// Moist air: vapour pressure, dew point, wet bulb, humidity ratio, densities, and how they change.
// Pure functions, no state. Air and vapour are ideal gases: beside the handbook's tables of real
// saturated air the humidity ratio is 0.4 to 0.6 % low. Nothing outside a stated domain is
// computed: the result is then a DomainError, never a clamped value.
// Relative humidity is over liquid water at every temperature, also below 0 deg C, because that is
// what humidity sensors report; RH over ice is not accepted anywhere. Source: common practice of
// sensor makers and of meteorology (from memory).
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/base/units.hpp"
#include "analysis/physics/domain_error.hpp"

namespace analysis::physics {

using base::AbsoluteHumidity;
using base::Celsius;
using base::HumidityRatio;
using base::KelvinPerKelvin;
using base::KelvinPerRelativeHumidity;
using base::KilogramsPerCubicMetre;
using base::Metres;
using base::Pascal;
using base::PascalPerKelvin;
using base::RelativeHumidity;
using base::RelativeHumidityPerKelvin;

// Saturation pressure over liquid water, -40..200 deg C.
// Source: ASHRAE Fundamentals 2017, ch. 1, eq. 6 (Hyland and Wexler 1983), whose domain is
// 0..200 deg C; below 0 it is carried on over supercooled water, within 0.8 % of Murphy and Koop
// 2005 down to -40 deg C (tests/physics/psychrometrics_test.cpp). Within 210 ppm of Wagner and
// Pruss at 10..30 deg C.
[[nodiscard]] base::Result<Pascal, DomainError> saturation_pressure_over_water(Celsius dry_bulb);

// Saturation pressure over ice, -100..0 deg C. Source: as above, eq. 5. Within 200 ppm of the
// handbook's Table 3.
[[nodiscard]] base::Result<Pascal, DomainError> saturation_pressure_over_ice(Celsius dry_bulb);

// How steeply those two rise with temperature: their exact derivatives, with their domains.
[[nodiscard]] base::Result<PascalPerKelvin, DomainError> saturation_slope_over_water(
    Celsius dry_bulb);
[[nodiscard]] base::Result<PascalPerKelvin, DomainError> saturation_slope_over_ice(
    Celsius dry_bulb);

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

// The temperature to which air of that vapour pressure must be brought to have `wanted` RH, in
// (0, 1]; dew_point_from_vapour_pressure(vapour / wanted), with that domain. For example: how warm
// a surface must be to stay below 80 %RH.
[[nodiscard]] base::Result<Celsius, DomainError> dry_bulb_from_vapour_pressure(
    Pascal vapour, RelativeHumidity wanted);

// Air pressures accepted below: from 11000 m up to 500 m below the sea, and strong highs. [asm]
inline constexpr Pascal kLowestAirPressure{22'000.0};
inline constexpr Pascal kHighestAirPressure{115'000.0};

// Standard atmosphere, -500..11000 m above the sea. Source: ASHRAE Fundamentals 2017, ch. 1, eq. 3.
// Weather moves the true pressure by about 3 % either way (from memory).
[[nodiscard]] base::Result<Pascal, DomainError> air_pressure_from_altitude(Metres altitude);

// Humidity ratio and its inverse, in kg vapour per kg dry air. Source: ASHRAE Fundamentals 2017,
// ch. 1, eq. 20. The vapour must be less than the air's pressure, neither negative.
[[nodiscard]] base::Result<HumidityRatio, DomainError> humidity_ratio_from_vapour_pressure(
    Pascal vapour, Pascal air);
[[nodiscard]] base::Result<Pascal, DomainError> vapour_pressure_from_humidity_ratio(
    HumidityRatio ratio, Pascal air);

// kg of vapour, and kg of dry air, in a m3 of moist air; dry bulb -100..200 deg C. Source: ideal
// gas law with the constants of ASHRAE Fundamentals 2017, ch. 1, eq. 1 and 20: 287.042 J/(kg K) for
// dry air and 461.52 J/(kg K) for vapour.
[[nodiscard]] base::Result<AbsoluteHumidity, DomainError> absolute_humidity_from_vapour_pressure(
    Celsius dry_bulb, Pascal vapour);
[[nodiscard]] base::Result<KilogramsPerCubicMetre, DomainError> dry_air_density(Celsius dry_bulb,
                                                                                Pascal vapour,
                                                                                Pascal air);

// Thermodynamic wet bulb, to 1e-6 K. Source: ASHRAE Fundamentals 2017, ch. 1, eq. 33 (water) and
// 35 (ice). Dry bulb -40..90 deg C, and below boiling at that air pressure. Where both a wet wick
// above 0 deg C and a frozen one below would satisfy them, the wet one is given; below 0 deg C the
// wick is frozen, and air that is over-saturated for ice has none: above_saturation (also between 0
// and 0.02 deg C, above 99.99 %RH).
[[nodiscard]] base::Result<Celsius, DomainError> wet_bulb_from_rh(Celsius dry_bulb,
                                                                  RelativeHumidity rh, Pascal air);

// How the dew point answers small changes of what a sensor reports; for uncertainties. Exact
// derivatives of dew_point_from_rh, with its domain.
struct DewPointSlopes {
  KelvinPerRelativeHumidity by_rh;
  KelvinPerKelvin by_dry_bulb;
};
[[nodiscard]] base::Result<DewPointSlopes, DomainError> dew_point_slopes_from_rh(
    Celsius dry_bulb, RelativeHumidity rh);

// How RH falls (negative) when air is warmed and keeps its vapour; the exact derivative of
// rh_at_temperature at its own temperature.
[[nodiscard]] base::Result<RelativeHumidityPerKelvin, DomainError> rh_slope_at_constant_vapour(
    Celsius dry_bulb, RelativeHumidity rh);

}  // namespace analysis::physics
