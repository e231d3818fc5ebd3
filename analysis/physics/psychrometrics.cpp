#include "analysis/physics/psychrometrics.hpp"

#include <algorithm>
#include <cmath>

#include "analysis/physics/bisection.hpp"

namespace analysis::physics {
namespace {

using base::Failure;
using base::Result;

// ln p = inverse/T + constant + linear T + square T^2 + cube T^3 + fourth T^4 + logarithm ln T,
// with T in K and p in Pa, and where it holds.
struct SaturationFormula {
  double inverse, constant, linear, square, cube, fourth, logarithm;
  double lowest_celsius, highest_celsius;
};

// Source: ASHRAE Fundamentals 2017, ch. 1, eq. 6 and 5 (Hyland and Wexler 1983).
constexpr SaturationFormula kOverWater{-5.8002206e3, 1.3914993,     -4.8640239e-2,
                                       4.1764768e-5, -1.4452093e-8, 0.0,
                                       6.5459673,    -40.0,         200.0};
constexpr SaturationFormula kOverIce{-5.6745359e3, 6.3925247,    -9.6778430e-3,
                                     6.2215701e-7, 2.0747825e-9, -9.4840240e-13,
                                     4.1635019,    -100.0,       0.0};

double log_pressure(const SaturationFormula& f, double t) {
  return f.inverse / t + f.constant +
         t * (f.linear + t * (f.square + t * (f.cube + t * f.fourth))) + f.logarithm * std::log(t);
}

double log_pressure_slope_per_kelvin(const SaturationFormula& f, double t) {
  return -f.inverse / (t * t) + f.linear +
         t * (2.0 * f.square + t * (3.0 * f.cube + t * 4.0 * f.fourth)) + f.logarithm / t;
}

// d ln p / dT over water, 1/K.
double log_pressure_slope(Celsius t) {
  return log_pressure_slope_per_kelvin(kOverWater, base::kelvin_from_celsius(t));
}

bool holds_at(const SaturationFormula& formula, Celsius t) {
  return t.value() >= formula.lowest_celsius && t.value() <= formula.highest_celsius;
}

Result<Pascal, DomainError> saturation_pressure(const SaturationFormula& formula, Celsius t) {
  if (!holds_at(formula, t)) {
    return Failure{DomainError::temperature_out_of_domain};
  }
  return Pascal{std::exp(log_pressure(formula, base::kelvin_from_celsius(t)))};
}

Result<PascalPerKelvin, DomainError> saturation_slope(const SaturationFormula& formula, Celsius t) {
  if (!holds_at(formula, t)) {
    return Failure{DomainError::temperature_out_of_domain};
  }
  const double kelvin = base::kelvin_from_celsius(t);
  return PascalPerKelvin{std::exp(log_pressure(formula, kelvin)) *
                         log_pressure_slope_per_kelvin(formula, kelvin)};
}

// Newton steps on ln p, kept inside a shrinking bracket; ln p rises steadily with T.
Result<Celsius, DomainError> saturation_temperature(const SaturationFormula& formula, Pascal p) {
  constexpr double kToleranceKelvin = 1e-9;
  constexpr int kMostSteps = 60;
  double low = base::kelvin_from_celsius(Celsius{formula.lowest_celsius});
  double high = base::kelvin_from_celsius(Celsius{formula.highest_celsius});
  const double wanted = p.value() > 0.0 ? std::log(p.value()) : std::nan("");
  if (!(wanted >= log_pressure(formula, low) && wanted <= log_pressure(formula, high))) {
    return Failure{DomainError::vapour_pressure_out_of_domain};
  }
  double t = 0.5 * (low + high);
  for (int step = 0; step < kMostSteps && high - low > kToleranceKelvin; ++step) {
    const double excess = log_pressure(formula, t) - wanted;
    (excess > 0.0 ? high : low) = t;
    double next = t - excess / log_pressure_slope_per_kelvin(formula, t);
    if (!(next > low && next < high)) {
      next = 0.5 * (low + high);
    }
    if (std::abs(next - t) < kToleranceKelvin) {
      t = next;
      break;
    }
    t = next;
  }
  return Celsius{t - base::kelvin_from_celsius(Celsius{0.0})};
}

// Source: ASHRAE Fundamentals 2017, ch. 1, eq. 1 and 20.
constexpr double kDryAirJoulePerKgKelvin = 287.042;
constexpr double kMolarMassRatio = 0.621945;  // water to dry air
constexpr double kVapourJoulePerKgKelvin = kDryAirJoulePerKgKelvin / kMolarMassRatio;

// The heat balance of a wick, in kJ/kg: its latent heat is latent_at_freezing + latent_by_wick t,
// and `moist_by_wick` the wick's part in the heat of the air that takes the vapour up.
struct WickFormula {
  SaturationFormula phase;
  double latent_at_freezing, latent_by_wick, moist_by_wick;
};
constexpr WickFormula kWetWick{kOverWater, 2501.0, -2.326, 4.186};  // eq. 33
constexpr WickFormula kFrozenWick{kOverIce, 2830.0, -0.24, 2.1};    // eq. 35
constexpr double kDryAirKilojoulePerKgKelvin = 1.006;               // both
constexpr double kVapourKilojoulePerKgKelvin = 1.86;                // both

double ratio_from_pressures(double vapour_pa, double air_pa) {
  return kMolarMassRatio * vapour_pa / (air_pa - vapour_pa);
}

// Humidity ratio of air of that dry bulb when its wick is at `wick` deg C.
double ratio_from_wick(const WickFormula& formula, double wick, double dry_bulb, double air_pa) {
  const double saturated = ratio_from_pressures(
      std::exp(log_pressure(formula.phase, base::kelvin_from_celsius(Celsius{wick}))), air_pa);
  const double latent = formula.latent_at_freezing + formula.latent_by_wick * wick;
  return (latent * saturated - kDryAirKilojoulePerKgKelvin * (dry_bulb - wick)) /
         (formula.latent_at_freezing + kVapourKilojoulePerKgKelvin * dry_bulb -
          formula.moist_by_wick * wick);
}

bool is_air_temperature(Celsius t) { return t >= Celsius{-100.0} && t <= Celsius{200.0}; }

bool is_air_pressure(Pascal air) { return air >= kLowestAirPressure && air <= kHighestAirPressure; }

// Temperature of the wick in air of that humidity ratio, which is at most saturated over water.
Result<Celsius, DomainError> wick_temperature(double ratio, double dry_bulb, double air_pa) {
  constexpr double kToleranceKelvin = 1e-7;
  const auto excess_over = [=](const WickFormula& formula) {
    return [=, &formula](double wick) {
      return ratio_from_wick(formula, wick, dry_bulb, air_pa) - ratio;
    };
  };
  const auto wet_excess = excess_over(kWetWick);
  if (dry_bulb >= 0.0 && wet_excess(0.0) <= 0.0) {
    return Celsius{root_by_bisection(wet_excess, 0.0, dry_bulb, kToleranceKelvin)};
  }
  const auto frozen_excess = excess_over(kFrozenWick);
  const double warmest = std::min(dry_bulb, 0.0);
  if (frozen_excess(warmest) < 0.0) {
    return Failure{DomainError::above_saturation};
  }
  return Celsius{
      root_by_bisection(frozen_excess, kOverIce.lowest_celsius, warmest, kToleranceKelvin)};
}

// The pressure of the air bounds the vapour in it.
Result<void, DomainError> checked(Pascal vapour, Pascal air) {
  if (!is_air_pressure(air)) {
    return Failure{DomainError::pressure_out_of_domain};
  }
  if (!(vapour.value() >= 0.0 && vapour < air)) {
    return Failure{DomainError::vapour_pressure_out_of_domain};
  }
  return {};
}

}  // namespace

Result<Pascal, DomainError> saturation_pressure_over_water(Celsius dry_bulb) {
  return saturation_pressure(kOverWater, dry_bulb);
}

Result<Pascal, DomainError> saturation_pressure_over_ice(Celsius dry_bulb) {
  return saturation_pressure(kOverIce, dry_bulb);
}

Result<PascalPerKelvin, DomainError> saturation_slope_over_water(Celsius dry_bulb) {
  return saturation_slope(kOverWater, dry_bulb);
}

Result<PascalPerKelvin, DomainError> saturation_slope_over_ice(Celsius dry_bulb) {
  return saturation_slope(kOverIce, dry_bulb);
}

Result<Pascal, DomainError> vapour_pressure_from_rh(Celsius dry_bulb, RelativeHumidity rh) {
  if (!(rh.value() >= 0.0 && rh.value() <= 1.0)) {
    return Failure{DomainError::rh_out_of_domain};
  }
  const auto saturation = saturation_pressure_over_water(dry_bulb);
  if (!saturation) {
    return saturation;
  }
  return Pascal{rh.value() * saturation.value().value()};
}

Result<Celsius, DomainError> dew_point_from_vapour_pressure(Pascal vapour) {
  return saturation_temperature(kOverWater, vapour);
}

Result<Celsius, DomainError> frost_point_from_vapour_pressure(Pascal vapour) {
  return saturation_temperature(kOverIce, vapour);
}

Result<Celsius, DomainError> dew_point_from_rh(Celsius dry_bulb, RelativeHumidity rh) {
  const auto vapour = vapour_pressure_from_rh(dry_bulb, rh);
  if (!vapour) {
    return Failure{vapour.error()};
  }
  return dew_point_from_vapour_pressure(vapour.value());
}

Result<RelativeHumidity, DomainError> rh_at_temperature(Celsius dry_bulb, RelativeHumidity rh,
                                                        Celsius other) {
  const auto vapour = vapour_pressure_from_rh(dry_bulb, rh);
  if (!vapour) {
    return Failure{vapour.error()};
  }
  const auto saturation = saturation_pressure_over_water(other);
  if (!saturation) {
    return Failure{saturation.error()};
  }
  const double ratio = vapour.value().value() / saturation.value().value();
  if (ratio > 1.0 && other < dry_bulb) {
    return Failure{DomainError::above_saturation};
  }
  return RelativeHumidity{ratio};
}

Result<Celsius, DomainError> dry_bulb_from_vapour_pressure(Pascal vapour, RelativeHumidity wanted) {
  if (!(wanted.value() > 0.0 && wanted.value() <= 1.0)) {
    return Failure{DomainError::rh_out_of_domain};
  }
  return dew_point_from_vapour_pressure(Pascal{vapour.value() / wanted.value()});
}

Result<Pascal, DomainError> air_pressure_from_altitude(Metres altitude) {
  constexpr double kLowestMetres = -500.0;
  constexpr double kHighestMetres = 11'000.0;
  if (!(altitude.value() >= kLowestMetres && altitude.value() <= kHighestMetres)) {
    return Failure{DomainError::altitude_out_of_domain};
  }
  return Pascal{101'325.0 * std::pow(1.0 - 2.25577e-5 * altitude.value(), 5.2559)};
}

Result<HumidityRatio, DomainError> humidity_ratio_from_vapour_pressure(Pascal vapour, Pascal air) {
  if (const auto sound = checked(vapour, air); !sound) {
    return Failure{sound.error()};
  }
  return HumidityRatio{ratio_from_pressures(vapour.value(), air.value())};
}

Result<Pascal, DomainError> vapour_pressure_from_humidity_ratio(HumidityRatio ratio, Pascal air) {
  if (!is_air_pressure(air)) {
    return Failure{DomainError::pressure_out_of_domain};
  }
  if (!(ratio.value() >= 0.0 && std::isfinite(ratio.value()))) {
    return Failure{DomainError::vapour_pressure_out_of_domain};
  }
  return Pascal{air.value() * ratio.value() / (kMolarMassRatio + ratio.value())};
}

Result<AbsoluteHumidity, DomainError> absolute_humidity_from_vapour_pressure(Celsius dry_bulb,
                                                                             Pascal vapour) {
  if (!is_air_temperature(dry_bulb)) {
    return Failure{DomainError::temperature_out_of_domain};
  }
  if (!(vapour.value() >= 0.0 && vapour <= kHighestAirPressure)) {
    return Failure{DomainError::vapour_pressure_out_of_domain};
  }
  return AbsoluteHumidity{vapour.value() /
                          (kVapourJoulePerKgKelvin * base::kelvin_from_celsius(dry_bulb))};
}

Result<KilogramsPerCubicMetre, DomainError> dry_air_density(Celsius dry_bulb, Pascal vapour,
                                                            Pascal air) {
  if (!is_air_temperature(dry_bulb)) {
    return Failure{DomainError::temperature_out_of_domain};
  }
  if (const auto sound = checked(vapour, air); !sound) {
    return Failure{sound.error()};
  }
  return KilogramsPerCubicMetre{(air.value() - vapour.value()) /
                                (kDryAirJoulePerKgKelvin * base::kelvin_from_celsius(dry_bulb))};
}

Result<Celsius, DomainError> wet_bulb_from_rh(Celsius dry_bulb, RelativeHumidity rh, Pascal air) {
  constexpr Celsius kHighestDryBulb{90.0};
  if (!(dry_bulb <= kHighestDryBulb)) {
    return Failure{DomainError::temperature_out_of_domain};
  }
  const auto vapour = vapour_pressure_from_rh(dry_bulb, rh);
  if (!vapour) {
    return Failure{vapour.error()};
  }
  const auto saturated = saturation_pressure_over_water(dry_bulb);
  if (!checked(saturated.value(), air)) {
    return Failure{DomainError::pressure_out_of_domain};
  }
  return wick_temperature(ratio_from_pressures(vapour.value().value(), air.value()),
                          dry_bulb.value(), air.value());
}

Result<DewPointSlopes, DomainError> dew_point_slopes_from_rh(Celsius dry_bulb,
                                                             RelativeHumidity rh) {
  const auto dew = dew_point_from_rh(dry_bulb, rh);
  if (!dew) {
    return Failure{dew.error()};
  }
  const double relative_slope = log_pressure_slope(dry_bulb);
  const double relative_slope_at_dew = log_pressure_slope(dew.value());
  return DewPointSlopes{KelvinPerRelativeHumidity{1.0 / (rh.value() * relative_slope_at_dew)},
                        KelvinPerKelvin{relative_slope / relative_slope_at_dew}};
}

Result<RelativeHumidityPerKelvin, DomainError> rh_slope_at_constant_vapour(Celsius dry_bulb,
                                                                           RelativeHumidity rh) {
  const auto vapour = vapour_pressure_from_rh(dry_bulb, rh);
  if (!vapour) {
    return Failure{vapour.error()};
  }
  return RelativeHumidityPerKelvin{-rh.value() * log_pressure_slope(dry_bulb)};
}

}  // namespace analysis::physics
