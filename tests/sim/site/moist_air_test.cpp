#include "firmware-sim/sim/physics/moist_air.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "analysis/physics/psychrometrics.hpp"

using namespace firmware::sim::physics;
using analysis::base::Celsius;
using analysis::base::RelativeHumidity;

TEST_CASE("SaturationPressureAgreesWithPublishedTables") {
  struct Row {
    double celsius;
    double pa;
  };
  // 5, 25, 50 deg C: ASHRAE Fundamentals 2017, chapter 1, table 3, as quoted in the tests of
  // psychrolib 2.5.0. 10, 20, 30: Wagner and Pruss 2002 (IAPWS-95), recomputed. 0: 611.2 Pa, the
  // triple point's 611.657 Pa less 0.01 K (from memory).
  for (const Row row : {Row{0.0, 611.21}, Row{5.0, 872.6}, Row{10.0, 1228.11}, Row{20.0, 2339.19},
                        Row{25.0, 3169.7}, Row{30.0, 4246.92}, Row{50.0, 12351.3}}) {
    CAPTURE(row.celsius);
    // 0.04 % at most when it was measured.
    CHECK(saturation_pressure(Celsius{row.celsius}).value() == Approx(row.pa).epsilon(5e-4));
  }
}

TEST_CASE("VapourDensityAndDewPointAgreeWithReference") {
  // Hyland-Wexler by psychrolib 1.1.1: 20 deg C, 50 %RH.
  const auto vapour = vapour_density(Celsius{20.0}, RelativeHumidity{0.5});
  CHECK(vapour.value() == Approx(8.643e-3).epsilon(5e-4));
  CHECK(dew_point(vapour, Celsius{20.0}).value() == Approx(9.272).margin(0.01));
}

TEST_CASE("RelativeHumidityRoundTrips") {
  for (const double celsius : {-20.0, 0.0, 20.0, 40.0}) {
    for (const double rh : {0.05, 0.5, 1.0}) {
      const auto vapour = vapour_density(Celsius{celsius}, RelativeHumidity{rh});
      CHECK(rh_of(vapour, Celsius{celsius}).value() == Approx(rh).epsilon(1e-12));
    }
  }
}

// The truth must not borrow the formulas it is there to test: equal results would mean that it did.
TEST_CASE("SimulatorAndAnalysisDifferByTheStatedAmountAndNotByNothing") {
  double most_pressure = 0.0;
  double most_dew_point_k = 0.0;
  for (double celsius = -10.0; celsius <= 40.0; celsius += 0.5) {
    const double peer =
        analysis::physics::saturation_pressure_over_water(Celsius{celsius}).value().value();
    const double off = saturation_pressure(Celsius{celsius}).value() / peer - 1.0;
    most_pressure = std::max(most_pressure, std::abs(off));
    for (const double rh : {0.3, 0.5, 0.9}) {
      const RelativeHumidity humidity{rh};
      const double peer_dew_point =
          analysis::physics::dew_point_from_rh(Celsius{celsius}, humidity).value().value();
      const double ours =
          dew_point(vapour_density(Celsius{celsius}, humidity), Celsius{celsius}).value();
      most_dew_point_k = std::max(most_dew_point_k, std::abs(ours - peer_dew_point));
    }
  }
  CAPTURE(most_pressure, most_dew_point_k);
  CHECK(most_pressure < 3e-4);
  CHECK(most_pressure > 1e-5);
  CHECK(most_dew_point_k < 0.01);
}
