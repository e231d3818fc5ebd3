#include <catch2/catch.hpp>
#include <random>

#include "analysis/physics/psychrometrics.hpp"

using namespace analysis::physics;
using analysis::base::rh_from_percent;

namespace {

// Central difference of a function of one double.
template <class Function>
double central_slope(const Function& function, double at, double step) {
  return (function(at + step) - function(at - step)) / (2.0 * step);
}

double dew_celsius(double celsius, double rh) {
  return dew_point_from_rh(Celsius{celsius}, RelativeHumidity{rh}).value().value();
}

}  // namespace

TEST_CASE("SaturationSlopesAreTheDerivatives") {
  const auto water = [](double t) {
    return saturation_pressure_over_water(Celsius{t}).value().value();
  };
  const auto ice = [](double t) {
    return saturation_pressure_over_ice(Celsius{t}).value().value();
  };
  for (double t = -39.0; t < 199.0; t += 3.7) {
    CAPTURE(t);
    CHECK(saturation_slope_over_water(Celsius{t}).value().value() ==
          Approx(central_slope(water, t, 1e-3)).epsilon(1e-7));
  }
  for (double t = -99.0; t < -1.0; t += 2.3) {
    CAPTURE(t);
    CHECK(saturation_slope_over_ice(Celsius{t}).value().value() ==
          Approx(central_slope(ice, t, 1e-3)).epsilon(1e-7));
  }
}

TEST_CASE("SaturationSlopeHasItsKnownSize") {
  // Source: Clausius and Clapeyron with a latent heat of 2453.5 kJ/kg at 20 deg C (from memory) and
  // 461.52 J/(kg K): 2453.5e3 * 2338.8 / (461.52 * 293.15^2) = 144.7 Pa/K; 0.3 %.
  CHECK(saturation_slope_over_water(Celsius{20.0}).value().value() == Approx(144.7).epsilon(0.003));
}

TEST_CASE("DewPointSlopesAgreeWithPublishedValues") {
  // Source: recomputed in Python by differences: 20 deg C, 60 %: 0.2528 K per %RH and 0.9394 K/K.
  const auto at_60 = dew_point_slopes_from_rh(Celsius{20.0}, rh_from_percent(60.0)).value();
  CHECK(at_60.by_rh.value() / 100.0 == Approx(0.2528).margin(0.0002));
  CHECK(at_60.by_dry_bulb.value() == Approx(0.9394).margin(0.0005));
  // Source: by hand with the Magnus formula, 20 deg C, 50 %: 0.297 K per %RH and 0.92 K/K.
  const auto at_50 = dew_point_slopes_from_rh(Celsius{20.0}, rh_from_percent(50.0)).value();
  CHECK(at_50.by_rh.value() / 100.0 == Approx(0.297).margin(0.002));
  CHECK(at_50.by_dry_bulb.value() == Approx(0.92).margin(0.005));
}

TEST_CASE("RhSlopeAgreesWithPublishedValue") {
  // Source: recomputed in Python: 20 deg C, 75 %: -4.6458 %RH/K.
  CHECK(100.0 * rh_slope_at_constant_vapour(Celsius{20.0}, rh_from_percent(75.0)).value().value() ==
        Approx(-4.6458).margin(0.0005));
}

TEST_CASE("SlopesOfRandomAirAreTheDerivatives") {
  constexpr unsigned kSeed = 20170601;
  CAPTURE(kSeed);
  std::mt19937 random(kSeed);
  std::uniform_real_distribution<double> celsius(-15.0, 60.0);
  std::uniform_real_distribution<double> fraction(0.12, 0.98);
  for (int i = 0; i < 400; ++i) {
    const double t = celsius(random);
    const double rh = fraction(random);
    CAPTURE(t, rh);
    const auto slopes = dew_point_slopes_from_rh(Celsius{t}, RelativeHumidity{rh}).value();
    const double by_rh = central_slope([&](double x) { return dew_celsius(t, x); }, rh, 1e-4);
    const double by_dry_bulb = central_slope([&](double x) { return dew_celsius(x, rh); }, t, 1e-2);
    REQUIRE(slopes.by_rh.value() == Approx(by_rh).epsilon(2e-5));
    REQUIRE(slopes.by_dry_bulb.value() == Approx(by_dry_bulb).epsilon(2e-6));
    const double rh_by_kelvin = central_slope(
        [&](double x) {
          return rh_at_temperature(Celsius{t}, RelativeHumidity{rh}, Celsius{x}).value().value();
        },
        t, 1e-3);
    REQUIRE(rh_slope_at_constant_vapour(Celsius{t}, RelativeHumidity{rh}).value().value() ==
            Approx(rh_by_kelvin).epsilon(1e-6));
  }
}

TEST_CASE("RandomAirComesBackFromEachOfItsDescriptions") {
  constexpr unsigned kSeed = 19830801;
  CAPTURE(kSeed);
  std::mt19937 random(kSeed);
  std::uniform_real_distribution<double> celsius(-15.0, 60.0);
  std::uniform_real_distribution<double> fraction(0.12, 1.0);
  std::uniform_real_distribution<double> metres(-400.0, 4000.0);
  for (int i = 0; i < 400; ++i) {
    const Celsius t{celsius(random)};
    const RelativeHumidity rh{fraction(random)};
    const Pascal air = air_pressure_from_altitude(Metres{metres(random)}).value();
    CAPTURE(t.value(), rh.value(), air.value());
    const Pascal vapour = vapour_pressure_from_rh(t, rh).value();
    const auto ratio = humidity_ratio_from_vapour_pressure(vapour, air).value();
    REQUIRE(vapour_pressure_from_humidity_ratio(ratio, air).value().value() ==
            Approx(vapour.value()).epsilon(1e-12));
    const Celsius dew = dew_point_from_rh(t, rh).value();
    REQUIRE(dew.value() <= t.value() + 1e-6);
    REQUIRE(saturation_pressure_over_water(dew).value().value() ==
            Approx(vapour.value()).epsilon(1e-8));
    REQUIRE(dry_bulb_from_vapour_pressure(vapour, rh).value().value() ==
            Approx(t.value()).epsilon(0).margin(1e-6));
  }
}

TEST_CASE("SlopesOutsideTheDomainAreErrors") {
  CHECK(saturation_slope_over_water(Celsius{200.1}).error() ==
        DomainError::temperature_out_of_domain);
  CHECK(saturation_slope_over_water(Celsius{-40.1}).error() ==
        DomainError::temperature_out_of_domain);
  CHECK(saturation_slope_over_ice(Celsius{0.1}).error() == DomainError::temperature_out_of_domain);
  CHECK(dew_point_slopes_from_rh(Celsius{20.0}, RelativeHumidity{0.0}).error() ==
        DomainError::vapour_pressure_out_of_domain);
  CHECK(rh_slope_at_constant_vapour(Celsius{20.0}, RelativeHumidity{1.1}).error() ==
        DomainError::rh_out_of_domain);
  // At the ends of the domain the slopes still exist.
  CHECK(dew_point_slopes_from_rh(Celsius{200.0}, RelativeHumidity{1.0}).has_value());
  CHECK(dew_point_slopes_from_rh(Celsius{-40.0}, RelativeHumidity{1.0}).has_value());
}
