#include "analysis/physics/panel/wood_moisture.hpp"

#include <catch2/catch.hpp>
#include <limits>
#include <random>

using namespace analysis::physics;
using analysis::base::rh_from_percent;

namespace {

double emc_percent(double celsius, double percent_rh) {
  return 100.0 * wood_emc_from_rh(Celsius{celsius}, rh_from_percent(percent_rh)).value().value();
}

struct Cell {
  double celsius, percent_rh, percent_mc;
};

}  // namespace

TEST_CASE("WoodMoistureAgreesWithTheHandbookTable") {
  // Source: Wood Handbook table 4-2 (FPL-GTR-190 and -282), cells seen in a public fact sheet.
  // Printed to 0.1; the fit's 17.952 at 21.1 deg C and 85 % stands beside a printed 17.9, hence
  // 0.06.
  for (const Cell& cell :
       {Cell{21.1, 5, 1.3}, Cell{21.1, 30, 6.2}, Cell{21.1, 50, 9.2}, Cell{21.1, 75, 14.4},
        Cell{21.1, 85, 17.9}, Cell{21.1, 95, 23.9}, Cell{-1.1, 75, 14.9}, Cell{-1.1, 95, 24.3},
        Cell{37.8, 50, 8.7}, Cell{37.8, 90, 19.5}}) {
    CAPTURE(cell.celsius, cell.percent_rh);
    CHECK(emc_percent(cell.celsius, cell.percent_rh) == Approx(cell.percent_mc).margin(0.06));
  }
}

TEST_CASE("WoodMoistureAgreesWithTheRememberedRowsOfTheTable") {
  // Source: the same table, from memory, not seen.
  for (const Cell& cell :
       {Cell{10, 30, 6.3}, Cell{10, 40, 7.9}, Cell{10, 50, 9.5}, Cell{10, 60, 11.2},
        Cell{10, 65, 12.3}, Cell{10, 80, 16.4}, Cell{15.6, 30, 6.2}, Cell{15.6, 50, 9.4},
        Cell{15.6, 65, 12.1}, Cell{15.6, 80, 16.2}, Cell{26.7, 30, 6.1}, Cell{26.7, 50, 9.1},
        Cell{26.7, 65, 11.7}, Cell{26.7, 80, 15.7}, Cell{32.2, 30, 5.9}, Cell{32.2, 50, 8.9},
        Cell{32.2, 65, 11.5}, Cell{32.2, 80, 15.4}}) {
    CAPTURE(cell.celsius, cell.percent_rh);
    CHECK(emc_percent(cell.celsius, cell.percent_rh) == Approx(cell.percent_mc).margin(0.06));
  }
  // Source: solid-wood row of a table of Heebink's kind (Wood and Fiber Science 1980), from memory;
  // 0.2.
  for (const Cell& cell : {Cell{20, 30, 6.0}, Cell{20, 42, 8.0}, Cell{20, 65, 12.0},
                           Cell{20, 80, 16.1}, Cell{20, 90, 20.6}}) {
    CAPTURE(cell.percent_rh);
    CHECK(emc_percent(cell.celsius, cell.percent_rh) == Approx(cell.percent_mc).margin(0.2));
  }
}

TEST_CASE("WoodMoistureReproducesTheEquationComputedElsewhere") {
  // Source: eq. 4-5 evaluated independently in Python; 0.01. Three public codes of it agree on the
  // coefficients; one circulates with wrong signs and exponents.
  for (const Cell& cell :
       {Cell{20, 30, 6.19}, Cell{20, 35, 6.96}, Cell{20, 40, 7.72}, Cell{20, 45, 8.49},
        Cell{20, 50, 9.27}, Cell{20, 55, 10.10}, Cell{20, 60, 11.00}, Cell{20, 65, 12.00},
        Cell{20, 70, 13.13}, Cell{20, 75, 14.45}, Cell{20, 80, 16.04}, Cell{20, 85, 18.00},
        Cell{20, 90, 20.53}, Cell{25, 50, 9.13}, Cell{25, 65, 11.81}, Cell{10, 50, 9.47},
        Cell{10, 65, 12.27}}) {
    CAPTURE(cell.celsius, cell.percent_rh);
    CHECK(emc_percent(cell.celsius, cell.percent_rh) == Approx(cell.percent_mc).margin(0.01));
  }
}

TEST_CASE("WoodMoistureAgreesWithTheFahrenheitForm") {
  // Source: the same equation with its deg F coefficients (Wood Handbook, eq. 4-5, US units), an
  // independent fit of the same data; they differ by at most 0.02 % of moisture content.
  for (double t = 0.0; t <= 40.0; t += 5.0) {
    const double f = analysis::base::fahrenheit_from_celsius(Celsius{t});
    const double w = 330.0 + 0.452 * f + 0.00415 * f * f;
    const double k1 = 6.34 + 0.000775 * f - 0.0000935 * f * f;
    const double k2 = 1.09 + 0.0284 * f - 0.0000904 * f * f;
    for (double percent = 5.0; percent <= 95.0; percent += 5.0) {
      CAPTURE(t, percent);
      const double x = (0.791 + 0.000463 * f - 0.000000844 * f * f) * percent / 100.0;
      const double emc =
          1800.0 / w *
          (x / (1.0 - x) + (k1 * x + 2.0 * k1 * k2 * x * x) / (1.0 + k1 * x + k1 * k2 * x * x));
      CHECK(emc_percent(t, percent) == Approx(emc).margin(0.025));
    }
  }
}

TEST_CASE("WoodMoistureRisesWithRhAndFallsWithWarmth") {
  for (double t = -1.0; t <= 132.0; t += 3.5) {
    for (double percent = 5.0; percent < 95.0; percent += 1.0) {
      CAPTURE(t, percent);
      REQUIRE(emc_percent(t, percent + 1.0) > emc_percent(t, percent));
    }
  }
  for (double percent = 5.0; percent <= 95.0; percent += 5.0) {
    for (double t = 15.0; t < 130.0; t += 5.0) {
      CAPTURE(t, percent);
      REQUIRE(emc_percent(t + 1.0, percent) < emc_percent(t, percent));
    }
  }
}

TEST_CASE("WoodMoistureSlopesAreTheDerivatives") {
  constexpr unsigned kSeed = 4282021;
  CAPTURE(kSeed);
  std::mt19937 random(kSeed);
  std::uniform_real_distribution<double> celsius(-1.0, 132.0);
  std::uniform_real_distribution<double> fraction(0.051, 0.949);
  const auto emc = [](double t, double rh) {
    return wood_emc_from_rh(Celsius{t}, RelativeHumidity{rh}).value().value();
  };
  for (int i = 0; i < 500; ++i) {
    const double t = celsius(random);
    const double rh = fraction(random);
    CAPTURE(t, rh);
    const auto slopes = wood_emc_slopes_from_rh(Celsius{t}, RelativeHumidity{rh}).value();
    const double by_rh = (emc(t, rh + 1e-5) - emc(t, rh - 1e-5)) / 2e-5;
    const double by_temperature = (emc(t + 1e-3, rh) - emc(t - 1e-3, rh)) / 2e-3;
    REQUIRE(slopes.by_rh.value() == Approx(by_rh).epsilon(1e-6));
    REQUIRE(slopes.by_temperature.value() == Approx(by_temperature).epsilon(1e-6).margin(1e-10));
  }
}

TEST_CASE("WoodMoistureSlopesAgreeWithPublishedValues") {
  // Source: differences of eq. 4-5 in Python, 20 deg C, 50 %: +0.161 % per %RH, -0.025 % per K.
  const auto slopes = wood_emc_slopes_from_rh(Celsius{20.0}, RelativeHumidity{0.5}).value();
  CHECK(slopes.by_rh.value() == Approx(0.161).margin(0.001));
  CHECK(100.0 * slopes.by_temperature.value() == Approx(-0.025).margin(0.001));
}

TEST_CASE("RhFromWoodMoistureAgreesWithInverseComputedElsewhere") {
  // Source: eq. 4-5 inverted in Python, 20 deg C; 0.01 %RH.
  struct Row {
    double percent_mc, percent_rh;
  };
  for (const Row& row :
       {Row{6, 28.81}, Row{8, 41.83}, Row{9, 48.30}, Row{10, 54.41}, Row{12, 65.02}}) {
    CAPTURE(row.percent_mc);
    CHECK(100.0 * rh_from_wood_emc(Celsius{20.0}, MoistureContent{row.percent_mc / 100.0})
                      .value()
                      .value() ==
          Approx(row.percent_rh).margin(0.01));
  }
}

TEST_CASE("RhFromWoodMoistureInvertsTheCurve") {
  for (double t = -1.0; t <= 132.0; t += 7.0) {
    for (double percent = 5.0; percent <= 95.0; percent += 2.5) {
      CAPTURE(t, percent);
      const auto emc = wood_emc_from_rh(Celsius{t}, rh_from_percent(percent)).value();
      REQUIRE(rh_from_wood_emc(Celsius{t}, emc).value().value() ==
              Approx(percent / 100.0).epsilon(0).margin(1e-9));
    }
  }
}

TEST_CASE("WoodMoistureOutsideTheHandbookRangeIsAnError") {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const RelativeHumidity half{0.5};
  CHECK(wood_emc_from_rh(Celsius{-1.11}, half).error() == DomainError::temperature_out_of_domain);
  CHECK(wood_emc_from_rh(Celsius{132.21}, half).error() == DomainError::temperature_out_of_domain);
  CHECK(wood_emc_from_rh(Celsius{nan}, half).error() == DomainError::temperature_out_of_domain);
  CHECK(wood_emc_from_rh(Celsius{20.0}, RelativeHumidity{0.0499}).error() ==
        DomainError::rh_out_of_domain);
  CHECK(wood_emc_from_rh(Celsius{20.0}, RelativeHumidity{0.9501}).error() ==
        DomainError::rh_out_of_domain);
  CHECK(wood_emc_from_rh(Celsius{20.0}, RelativeHumidity{nan}).error() ==
        DomainError::rh_out_of_domain);
  CHECK(wood_emc_from_rh(kColdestWood, kDriestWoodAir).has_value());
  CHECK(wood_emc_from_rh(kHottestWood, kDampestWoodAir).has_value());
  CHECK(wood_emc_slopes_from_rh(Celsius{20.0}, RelativeHumidity{0.96}).error() ==
        DomainError::rh_out_of_domain);
  CHECK(rh_from_wood_emc(Celsius{20.0}, MoistureContent{0.012}).error() ==
        DomainError::moisture_content_out_of_domain);
  CHECK(rh_from_wood_emc(Celsius{20.0}, MoistureContent{0.25}).error() ==
        DomainError::moisture_content_out_of_domain);
  CHECK(rh_from_wood_emc(Celsius{20.0}, MoistureContent{nan}).error() ==
        DomainError::moisture_content_out_of_domain);
  CHECK(rh_from_wood_emc(Celsius{-2.0}, MoistureContent{0.1}).error() ==
        DomainError::temperature_out_of_domain);
}
