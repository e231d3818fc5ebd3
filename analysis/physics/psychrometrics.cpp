#include "analysis/physics/psychrometrics.hpp"

#include <cmath>

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

Result<Pascal, DomainError> saturation_pressure(const SaturationFormula& formula, Celsius t) {
  if (!(t.value() >= formula.lowest_celsius && t.value() <= formula.highest_celsius)) {
    return Failure{DomainError::temperature_out_of_domain};
  }
  return Pascal{std::exp(log_pressure(formula, base::kelvin_from_celsius(t)))};
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

}  // namespace

Result<Pascal, DomainError> saturation_pressure_over_water(Celsius dry_bulb) {
  return saturation_pressure(kOverWater, dry_bulb);
}

Result<Pascal, DomainError> saturation_pressure_over_ice(Celsius dry_bulb) {
  return saturation_pressure(kOverIce, dry_bulb);
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

}  // namespace analysis::physics
