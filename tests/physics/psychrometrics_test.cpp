#include "analysis/physics/psychrometrics.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

using namespace analysis::physics;
using analysis::base::rh_from_percent;

namespace {

constexpr Pascal kSeaLevel{101'325.0};

double water_pa(double celsius) {
  return saturation_pressure_over_water(Celsius{celsius}).value().value();
}
double ice_pa(double celsius) {
  return saturation_pressure_over_ice(Celsius{celsius}).value().value();
}
double dew_celsius(double celsius, double percent) {
  return dew_point_from_rh(Celsius{celsius}, rh_from_percent(percent)).value().value();
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
  // Source: ASHRAE Fundamentals 2017 ch. 1 Table 3, seen as quoted in the tests of psychrolib 2.5.0
  // (a general library of moist air); 300 ppm.
  CHECK(ice_pa(-20.0) == within(103.24, 300e-6));
  CHECK(ice_pa(-5.0) == within(401.74, 300e-6));
  CHECK(water_pa(5.0) == within(872.6, 300e-6));
  CHECK(water_pa(25.0) == within(3169.7, 300e-6));
  CHECK(water_pa(50.0) == within(12351.3, 300e-6));
  CHECK(water_pa(100.0) == within(101418.0, 300e-6));
}

TEST_CASE("SaturationPressureAgreesWithLaterFormulations") {
  // Source: the ice equation of IAPWS 2011 and Wagner and Pruss 2002, recomputed, equations from
  // memory; 300 ppm.
  CHECK(ice_pa(-10.0) == within(259.874, 300e-6));
  CHECK(water_pa(10.0) == within(1228.11, 300e-6));
  CHECK(water_pa(20.0) == within(2339.19, 300e-6));
  CHECK(water_pa(25.0) == within(3169.82, 300e-6));
  CHECK(water_pa(30.0) == within(4246.92, 300e-6));
}

TEST_CASE("SaturationPressureReproducesItsOwnFormula") {
  // Source: the coefficients evaluated independently in Python.
  CHECK(water_pa(0.0) == within(611.213, 2e-6));
  CHECK(ice_pa(0.0) == within(611.154, 2e-6));
  CHECK(ice_pa(-20.0) == within(103.260, 5e-6));
  CHECK(ice_pa(-10.0) == within(259.903, 2e-6));
  CHECK(ice_pa(-5.0) == within(401.764, 2e-6));
  CHECK(water_pa(5.0) == within(872.487, 2e-6));
  CHECK(water_pa(10.0) == within(1227.995, 2e-6));
  CHECK(water_pa(20.0) == within(2338.804, 2e-6));
  CHECK(water_pa(25.0) == within(3169.216, 2e-6));
  CHECK(water_pa(30.0) == within(4246.030, 2e-6));
  CHECK(water_pa(50.0) == within(12349.856, 2e-6));
  CHECK(water_pa(100.0) == within(101418.717, 2e-6));
}

TEST_CASE("MagnusIsTooLowForThisUse") {
  // Source: Magnus form of WMO practice, coefficients from memory; at most 0.29 % below
  // Hyland-Wexler at 0..40 deg C (recomputed), which a dew point shows as under 0.05 K.
  double worst = 0.0;
  for (double t = 0.0; t <= 40.0; t += 0.5) {
    const double magnus_pa = 611.2 * std::exp(17.62 * t / (243.12 + t));
    worst = std::min(worst, magnus_pa / water_pa(t) - 1.0);
  }
  CHECK(worst == Approx(-0.0029).margin(0.00005));
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

TEST_CASE("FrostPointIsTakenOverIce") {
  // Source: psychrolib 1.1.1 of npm, GetTDewPointFromVapPres: 321.41 Pa is 80 % over ice at -5.
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
  // Source: the Magnus formula by hand, dew point 10.5: 18 deg C gives 61.56 %, 20 gives 54.3, 22
  // gives 48.1; 0.1 %RH, for Magnus is that far off.
  const double vapour = water_pa(10.5);
  const RelativeHumidity at_18{vapour / water_pa(18.0)};
  CHECK(at_18.value() == Approx(0.6156).margin(0.001));
  const auto at_22 = rh_at_temperature(Celsius{18.0}, at_18, Celsius{22.0});
  CHECK(at_22.value().value() == Approx(0.481).margin(0.001));
  CHECK(rh_at_temperature(Celsius{18.0}, at_18, Celsius{20.0}).value().value() ==
        Approx(0.543).margin(0.001));
  // Source: likewise, air of 20 deg C and 50 %RH at a surface of 12 deg C: 83.3 %.
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

TEST_CASE("StandardAtmosphereAgreesWithTheHandbook") {
  // Source: ASHRAE Fundamentals 2017 ch. 1 Table 1, seen as quoted in psychrolib's tests; 1 Pa. The
  // other heights: psychrolib 1.1.1 of npm, GetStandardAtmPressure.
  const auto pressure_at = [](double metres) {
    return air_pressure_from_altitude(Metres{metres}).value().value();
  };
  CHECK(pressure_at(0.0) == Approx(101325.0).epsilon(0).margin(1.0));
  CHECK(pressure_at(500.0) == Approx(95461.0).epsilon(0).margin(1.0));
  CHECK(pressure_at(1000.0) == Approx(89875.0).epsilon(0).margin(1.0));
  CHECK(pressure_at(-500.0) == Approx(107477.537).epsilon(0).margin(0.01));
  CHECK(pressure_at(2000.0) == Approx(79495.124).epsilon(0).margin(0.01));
  CHECK(pressure_at(5000.0) == Approx(54019.751).epsilon(0).margin(0.01));
  CHECK(pressure_at(11000.0) == Approx(22631.902).epsilon(0).margin(0.01));
}

TEST_CASE("HumidityRatioOfSaturatedAirStaysNearTheHandbookTable") {
  // Source: ASHRAE Fundamentals 2017 ch. 1 Table 2, seen as quoted in psychrolib's tests. The table
  // is of real air; ideal gases are 0.42 to 0.62 % below it, and never above.
  struct Row {
    double celsius, table, tolerance;
  };
  for (const Row& row : {Row{-5.0, 0.0024863, 0.005}, Row{5.0, 0.005425, 0.005},
                         Row{25.0, 0.020173, 0.005}, Row{50.0, 0.086863, 0.007}}) {
    CAPTURE(row.celsius);
    const double vapour = row.celsius < 0.0 ? ice_pa(row.celsius) : water_pa(row.celsius);
    const double ratio =
        humidity_ratio_from_vapour_pressure(Pascal{vapour}, kSeaLevel).value().value();
    CHECK(ratio == within(row.table, row.tolerance));
    CHECK(ratio < row.table);
  }
  // Source: psychrolib's tests; 1e-6.
  CHECK(humidity_ratio_from_vapour_pressure(Pascal{3169.7}, Pascal{95461.0}).value().value() ==
        within(0.0213603998, 1e-6));
}

TEST_CASE("SaturatedAirHoldsTheTextbookMassOfVapour") {
  // Source: the ideal gas law evaluated in Python; the 17.3 and 23.0 g/m3 of textbooks from memory.
  const auto saturated_grams = [](double t) {
    const double vapour = t < 0.0 ? ice_pa(t) : water_pa(t);
    return 1000.0 *
           absolute_humidity_from_vapour_pressure(Celsius{t}, Pascal{vapour}).value().value();
  };
  CHECK(saturated_grams(-10.0) == within(2.140, 1e-3));
  CHECK(saturated_grams(0.0) == within(4.848, 1e-3));
  CHECK(saturated_grams(10.0) == within(9.397, 1e-3));
  CHECK(saturated_grams(20.0) == within(17.287, 1e-4));
  CHECK(saturated_grams(25.0) == within(23.032, 1e-4));
  CHECK(saturated_grams(30.0) == within(30.348, 1e-4));
}

TEST_CASE("AirOfTheHandbookExample") {
  // Source: ASHRAE Fundamentals 2017 ch. 1 Example 1, seen as quoted in psychrolib's tests: dry
  // bulb 40, wet bulb 20 deg C at sea level is W 0.0065, dew point 7, RH 14 %, 0.896 m3 per kg dry
  // air. Read off a chart there; the exact RH for that wet bulb is 13.98 % (recomputed).
  const RelativeHumidity rh{0.13982};
  CHECK(wet_bulb_from_rh(Celsius{40.0}, rh, kSeaLevel).value().value() ==
        Approx(20.0).margin(0.005));
  const Pascal vapour = vapour_pressure_from_rh(Celsius{40.0}, rh).value();
  CHECK(dew_celsius(40.0, 13.982) == Approx(7.0).margin(0.5));
  CHECK(dew_celsius(40.0, 13.982) == Approx(7.434).margin(0.005));
  CHECK(humidity_ratio_from_vapour_pressure(vapour, kSeaLevel).value().value() ==
        Approx(0.0065).epsilon(0).margin(1e-4));
  CHECK(1.0 / dry_air_density(Celsius{40.0}, vapour, kSeaLevel).value().value() ==
        Approx(0.896).margin(0.0005));
}

TEST_CASE("WetBulbAgreesWithPublishedValues") {
  // Source: psychrolib's tests: 7 deg C, 61 %, 100000 Pa; 0.001 K.
  CHECK(wet_bulb_from_rh(Celsius{7.0}, RelativeHumidity{0.61}, Pascal{100'000.0}).value().value() ==
        Approx(3.92667).margin(0.001));
}

TEST_CASE("WetBulbLiesBetweenDewPointAndDryBulb") {
  for (double t = 0.0; t <= 60.0; t += 2.5) {
    double previous = -100.0;
    for (double percent = 5.0; percent <= 100.0; percent += 2.5) {
      CAPTURE(t, percent);
      const double wet =
          wet_bulb_from_rh(Celsius{t}, rh_from_percent(percent), kSeaLevel).value().value();
      REQUIRE(wet > previous);
      REQUIRE(wet <= t + 1e-6);
      REQUIRE(wet >= dew_celsius(t, percent) - 1e-6);
      previous = wet;
    }
    CHECK(previous == Approx(t).epsilon(0).margin(1e-5));
  }
}

TEST_CASE("AirOverSaturatedForIceHasNoFrozenWetBulb") {
  CHECK(wet_bulb_from_rh(Celsius{-10.0}, RelativeHumidity{1.0}, kSeaLevel).error() ==
        DomainError::above_saturation);
  const RelativeHumidity saturated_over_ice{ice_pa(-10.0) / water_pa(-10.0) * (1.0 - 1e-9)};
  CHECK(wet_bulb_from_rh(Celsius{-10.0}, saturated_over_ice, kSeaLevel).value().value() ==
        Approx(-10.0).epsilon(0).margin(1e-5));
}

TEST_CASE("TemperatureForAWantedRhAgreesWithTheCondensationTable") {
  // Source: recomputed in Python; temperature at which the air's vapour stands at 80 %RH; 0.02 K.
  // The relation of the two rules: a surface 3 K above the dew point is at 81.9..82.4 %RH.
  struct Row {
    double celsius, percent, dew, at_80_percent;
  };
  for (const Row& row :
       {Row{20, 50, 9.27, 12.63}, Row{20, 60, 12.01, 15.44}, Row{20, 65, 13.23, 16.69},
        Row{22, 45, 9.53, 12.90}, Row{18, 70, 12.45, 15.89}}) {
    CAPTURE(row.celsius, row.percent);
    const auto rh = rh_from_percent(row.percent);
    const Pascal vapour = vapour_pressure_from_rh(Celsius{row.celsius}, rh).value();
    CHECK(dew_celsius(row.celsius, row.percent) == Approx(row.dew).margin(0.01));
    CHECK(dry_bulb_from_vapour_pressure(vapour, rh_from_percent(80.0)).value().value() ==
          Approx(row.at_80_percent).margin(0.02));
    CHECK(dry_bulb_from_vapour_pressure(vapour, rh).value().value() ==
          Approx(row.celsius).epsilon(0).margin(1e-6));
    const double at_3_kelvin = vapour.value() / water_pa(row.dew + 3.0);
    CHECK(at_3_kelvin > 0.818);
    CHECK(at_3_kelvin < 0.825);
  }
}

TEST_CASE("HumidityRatioAndVapourPressureInvertEachOther") {
  for (double pascal = 0.0; pascal < 20'000.0; pascal += 137.0) {
    CAPTURE(pascal);
    const auto ratio = humidity_ratio_from_vapour_pressure(Pascal{pascal}, Pascal{95'461.0});
    const auto back = vapour_pressure_from_humidity_ratio(ratio.value(), Pascal{95'461.0});
    REQUIRE(back.value().value() == Approx(pascal).epsilon(1e-12).margin(1e-12));
  }
}

TEST_CASE("DryAirAndVapourMakeUpTheAir") {
  // The two densities are in the proportion of the humidity ratio.
  const Celsius dry_bulb{23.0};
  const Pascal vapour{1500.0};
  const double dry_air = dry_air_density(dry_bulb, vapour, kSeaLevel).value().value();
  const double water = absolute_humidity_from_vapour_pressure(dry_bulb, vapour).value().value();
  CHECK(water / dry_air ==
        within(humidity_ratio_from_vapour_pressure(vapour, kSeaLevel).value().value(), 1e-12));
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

TEST_CASE("OutsideTheDomainOfAirThereIsAnErrorAndNoValue") {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  CHECK(air_pressure_from_altitude(Metres{-500.1}).error() == DomainError::altitude_out_of_domain);
  CHECK(air_pressure_from_altitude(Metres{11000.1}).error() == DomainError::altitude_out_of_domain);
  CHECK(humidity_ratio_from_vapour_pressure(Pascal{1000.0}, Pascal{21'999.0}).error() ==
        DomainError::pressure_out_of_domain);
  CHECK(humidity_ratio_from_vapour_pressure(Pascal{1000.0}, Pascal{115'001.0}).error() ==
        DomainError::pressure_out_of_domain);
  CHECK(humidity_ratio_from_vapour_pressure(Pascal{100'000.0}, Pascal{100'000.0}).error() ==
        DomainError::vapour_pressure_out_of_domain);
  CHECK(humidity_ratio_from_vapour_pressure(Pascal{-1.0}, kSeaLevel).error() ==
        DomainError::vapour_pressure_out_of_domain);
  CHECK(vapour_pressure_from_humidity_ratio(HumidityRatio{-0.001}, kSeaLevel).error() ==
        DomainError::vapour_pressure_out_of_domain);
  CHECK(vapour_pressure_from_humidity_ratio(HumidityRatio{0.01}, Pascal{nan}).error() ==
        DomainError::pressure_out_of_domain);
  CHECK(absolute_humidity_from_vapour_pressure(Celsius{201.0}, Pascal{1000.0}).error() ==
        DomainError::temperature_out_of_domain);
  CHECK(absolute_humidity_from_vapour_pressure(Celsius{20.0}, Pascal{nan}).error() ==
        DomainError::vapour_pressure_out_of_domain);
  CHECK(dry_air_density(Celsius{-101.0}, Pascal{100.0}, kSeaLevel).error() ==
        DomainError::temperature_out_of_domain);
  CHECK(dry_air_density(Celsius{20.0}, Pascal{100.0}, Pascal{0.0}).error() ==
        DomainError::pressure_out_of_domain);
  CHECK(wet_bulb_from_rh(Celsius{90.1}, RelativeHumidity{0.5}, kSeaLevel).error() ==
        DomainError::temperature_out_of_domain);
  CHECK(wet_bulb_from_rh(Celsius{-40.1}, RelativeHumidity{0.5}, kSeaLevel).error() ==
        DomainError::temperature_out_of_domain);
  CHECK(wet_bulb_from_rh(Celsius{20.0}, RelativeHumidity{1.01}, kSeaLevel).error() ==
        DomainError::rh_out_of_domain);
  // At 90 deg C water boils in air of 30 kPa.
  CHECK(wet_bulb_from_rh(Celsius{90.0}, RelativeHumidity{0.1}, Pascal{30'000.0}).error() ==
        DomainError::pressure_out_of_domain);
  CHECK(dry_bulb_from_vapour_pressure(Pascal{1000.0}, RelativeHumidity{0.0}).error() ==
        DomainError::rh_out_of_domain);
  CHECK(dry_bulb_from_vapour_pressure(Pascal{1000.0}, RelativeHumidity{1.01}).error() ==
        DomainError::rh_out_of_domain);
  CHECK(dry_bulb_from_vapour_pressure(Pascal{0.0}, RelativeHumidity{0.5}).error() ==
        DomainError::vapour_pressure_out_of_domain);
}
