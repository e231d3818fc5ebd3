#include "analysis/physics/psychrometrics.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

using namespace analysis::physics;

namespace {

double water_pa(double celsius) {
  return saturation_pressure_over_water(Celsius{celsius}).value().value();
}
double ice_pa(double celsius) {
  return saturation_pressure_over_ice(Celsius{celsius}).value().value();
}
double dew_celsius(double celsius, double percent) {
  return dew_point_from_rh(Celsius{celsius}, analysis::base::rh_from_percent(percent))
      .value()
      .value();
}
Approx within(double expected, double relative) { return Approx(expected).epsilon(relative); }

// Murphy and Koop 2005, eq. 10, vapour pressure of supercooled water, 123..332 K. Coefficients from
// memory; an independent peer for the range where Hyland-Wexler is carried on below its own domain.
double murphy_koop_pa(double celsius) {
  const double t = celsius + 273.15;
  return std::exp(54.842763 - 6763.22 / t - 4.210 * std::log(t) + 0.000367 * t +
                  std::tanh(0.0415 * (t - 218.8)) *
                      (53.878 - 1331.22 / t - 9.44523 * std::log(t) + 0.014025 * t));
}

}  // namespace

TEST_CASE("SaturationPressureAgreesWithTheHandbookTable") {
  // Source: ASHRAE Fundamentals 2017 ch. 1 Table 3, as quoted in psychrolib's tests; 300 ppm.
  CHECK(ice_pa(-20.0) == within(103.24, 300e-6));
  CHECK(ice_pa(-5.0) == within(401.74, 300e-6));
  CHECK(water_pa(5.0) == within(872.6, 300e-6));
  CHECK(water_pa(25.0) == within(3169.7, 300e-6));
  CHECK(water_pa(50.0) == within(12351.3, 300e-6));
  CHECK(water_pa(100.0) == within(101418.0, 300e-6));
}

TEST_CASE("SaturationPressureAgreesWithLaterFormulations") {
  // Source: IAPWS 2011 ice equation and Wagner and Pruss, recomputed for check-values; 300 ppm.
  CHECK(ice_pa(-10.0) == within(259.874, 300e-6));
  CHECK(water_pa(10.0) == within(1228.11, 300e-6));
  CHECK(water_pa(20.0) == within(2339.19, 300e-6));
  CHECK(water_pa(30.0) == within(4246.92, 300e-6));
}

TEST_CASE("SaturationPressureReproducesItsOwnFormula") {
  // Source: the coefficients evaluated independently (Python) for check-values.
  CHECK(water_pa(0.0) == within(611.213, 2e-6));
  CHECK(ice_pa(0.0) == within(611.154, 2e-6));
  CHECK(ice_pa(-10.0) == within(259.903, 2e-6));
  CHECK(water_pa(10.0) == within(1227.995, 2e-6));
  CHECK(water_pa(20.0) == within(2338.804, 2e-6));
  CHECK(water_pa(30.0) == within(4246.030, 2e-6));
}

TEST_CASE("SupercooledWaterStaysNearAnIndependentFormula") {
  for (double t = -40.0; t <= 0.0; t += 1.0) {
    INFO("at " << t << " deg C");
    CHECK(water_pa(t) == within(murphy_koop_pa(t), 0.008));
    if (t < 0.0) {
      CHECK(water_pa(t) > ice_pa(t));
    }
  }
}

TEST_CASE("DewPointAgreesWithPeerValues") {
  // Source: psychrolib (Python and npm builds agree to all digits), check-values section 1; 0.01 K.
  struct Row {
    double celsius, percent, vapour_pa, dew;
  };
  const Row rows[] = {
      {25, 50, 1584.61, 13.864}, {20, 50, 1169.40, 9.272},  {20, 60, 1403.28, 12.007},
      {20, 75, 1754.10, 15.438}, {18, 65, 1341.79, 11.330}, {22, 45, 1190.14, 9.534},
      {30, 80, 3396.82, 26.169}, {10, 90, 1105.20, 8.437},  {20, 30, 701.64, 1.914}};
  for (const Row& row : rows) {
    INFO(row.celsius << " deg C, " << row.percent << " %RH");
    const auto vapour =
        vapour_pressure_from_rh(Celsius{row.celsius}, analysis::base::rh_from_percent(row.percent));
    CHECK(vapour.value().value() == within(row.vapour_pa, 1e-5));
    CHECK(dew_celsius(row.celsius, row.percent) == Approx(row.dew).margin(0.001));
  }
}

TEST_CASE("FrostPointIsTakenOverIce") {
  // Source: psychrolib, check-values section 1: -5 deg C, 80 % over ice, 321.41 Pa; 0.01 K.
  const double frost = frost_point_from_vapour_pressure(Pascal{321.41}).value().value();
  CHECK(frost == Approx(-7.585).margin(0.001));
  CHECK(dew_point_from_vapour_pressure(Pascal{321.41}).value().value() < frost);
}

TEST_CASE("RhIsOverWaterBelowZero") {
  // A sensor at -5 deg C in air saturated over water shows 100 %, not the 105 % over ice.
  CHECK(vapour_pressure_from_rh(Celsius{-5.0}, RelativeHumidity{1.0}).value().value() ==
        Approx(water_pa(-5.0)));
}

TEST_CASE("DewAndFrostPointsInvertTheSaturationPressures") {
  for (double t = -40.0; t <= 200.0; t += 0.37) {
    const auto dew = dew_point_from_vapour_pressure(Pascal{water_pa(t)});
    REQUIRE(dew.has_value());
    CHECK(std::abs(dew.value().value() - t) < 1e-6);
  }
  for (double t = -100.0; t <= 0.0; t += 0.37) {
    const auto frost = frost_point_from_vapour_pressure(Pascal{ice_pa(t)});
    REQUIRE(frost.has_value());
    CHECK(std::abs(frost.value().value() - t) < 1e-6);
  }
}

TEST_CASE("SaturationPressureRisesSteadily") {
  for (double t = -40.0; t < 200.0; t += 0.5) {
    REQUIRE(water_pa(t + 0.5) > water_pa(t));
  }
  for (double t = -100.0; t < -0.5; t += 0.5) {
    REQUIRE(ice_pa(t + 0.5) > ice_pa(t));
  }
}

TEST_CASE("RhOfTheSameVapourAtAnotherTemperature") {
  // Source: models.md section E, dew point 10.5: 18 deg C gives 61.56 %, 20 gives 54.3, 22 gives
  // 48.1, computed there with the Magnus formula, hence 0.1 %RH.
  const double vapour = water_pa(10.5);
  const RelativeHumidity at_18{vapour / water_pa(18.0)};
  CHECK(at_18.value() == Approx(0.6156).margin(0.001));
  const auto at_22 = rh_at_temperature(Celsius{18.0}, at_18, Celsius{22.0});
  CHECK(at_22.value().value() == Approx(0.481).margin(0.001));
  CHECK(rh_at_temperature(Celsius{18.0}, at_18, Celsius{20.0}).value().value() ==
        Approx(0.543).margin(0.001));
  // Source: models.md section F: air 20 deg C, 50 %RH over a surface of 12 deg C, 83.3 %.
  CHECK(rh_at_temperature(Celsius{20.0}, RelativeHumidity{0.5}, Celsius{12.0}).value().value() ==
        Approx(0.833).margin(0.001));
  CHECK(rh_at_temperature(Celsius{22.0}, at_22.value(), Celsius{18.0}).value().value() ==
        Approx(at_18.value()).epsilon(1e-12));
}

TEST_CASE("VapourThatWouldCondenseHasNoRh") {
  const auto result = rh_at_temperature(Celsius{20.0}, RelativeHumidity{0.5}, Celsius{9.0});
  REQUIRE_FALSE(result.has_value());
  CHECK(result.error() == DomainError::above_saturation);
  CHECK(rh_at_temperature(Celsius{20.0}, RelativeHumidity{1.0}, Celsius{20.0}).has_value());
}

TEST_CASE("OutsideTheDomainThereIsAnErrorAndNoValue") {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  CHECK(saturation_pressure_over_water(Celsius{-40.01}).error() ==
        DomainError::temperature_out_of_domain);
  CHECK(saturation_pressure_over_water(Celsius{200.01}).error() ==
        DomainError::temperature_out_of_domain);
  CHECK(saturation_pressure_over_water(Celsius{nan}).error() ==
        DomainError::temperature_out_of_domain);
  CHECK(saturation_pressure_over_ice(Celsius{0.01}).error() ==
        DomainError::temperature_out_of_domain);
  CHECK(saturation_pressure_over_ice(Celsius{-100.01}).error() ==
        DomainError::temperature_out_of_domain);
  CHECK(vapour_pressure_from_rh(Celsius{20.0}, RelativeHumidity{1.001}).error() ==
        DomainError::rh_out_of_domain);
  CHECK(vapour_pressure_from_rh(Celsius{20.0}, RelativeHumidity{-0.001}).error() ==
        DomainError::rh_out_of_domain);
  CHECK(vapour_pressure_from_rh(Celsius{20.0}, RelativeHumidity{nan}).error() ==
        DomainError::rh_out_of_domain);
  CHECK(dew_point_from_rh(Celsius{20.0}, RelativeHumidity{0.0}).error() ==
        DomainError::vapour_pressure_out_of_domain);
  CHECK(dew_point_from_rh(Celsius{250.0}, RelativeHumidity{0.5}).error() ==
        DomainError::temperature_out_of_domain);
  CHECK(frost_point_from_vapour_pressure(Pascal{700.0}).error() ==
        DomainError::vapour_pressure_out_of_domain);
  CHECK(dew_point_from_vapour_pressure(Pascal{-1.0}).error() ==
        DomainError::vapour_pressure_out_of_domain);
  CHECK(rh_at_temperature(Celsius{20.0}, RelativeHumidity{0.5}, Celsius{-60.0}).error() ==
        DomainError::temperature_out_of_domain);
}
