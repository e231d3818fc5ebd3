#include "firmware-sim/sim/physics/moist_air.hpp"

#include <catch2/catch.hpp>

using namespace firmware::sim::physics;
using analysis::base::Celsius;
using analysis::base::RelativeHumidity;

TEST_CASE("SaturationPressureAgreesWithPublishedTable") {
  struct Row {
    double celsius;
    double pa;
  };
  // ASHRAE Fundamentals 2017, chapter 1, table 3, as quoted in the tests of psychrolib 2.5.0.
  for (const Row row : {Row{5.0, 872.6}, Row{25.0, 3169.7}, Row{50.0, 12351.3}}) {
    CAPTURE(row.celsius);
    CHECK(saturation_pressure(Celsius{row.celsius}).value() == Approx(row.pa).epsilon(1e-3));
  }
}

TEST_CASE("VapourDensityAndDewPointAgreeWithReference") {
  // Hyland-Wexler by psychrolib 1.1.1: 20 deg C, 50 %RH.
  const auto vapour = vapour_density(Celsius{20.0}, RelativeHumidity{0.5});
  CHECK(vapour.value() == Approx(8.643e-3).epsilon(2e-3));
  CHECK(dew_point(vapour, Celsius{20.0}).value() == Approx(9.272).margin(0.02));
}

TEST_CASE("RelativeHumidityRoundTrips") {
  for (const double celsius : {-20.0, 0.0, 20.0, 40.0}) {
    for (const double rh : {0.05, 0.5, 1.0}) {
      const auto vapour = vapour_density(Celsius{celsius}, RelativeHumidity{rh});
      CHECK(rh_of(vapour, Celsius{celsius}).value() == Approx(rh).epsilon(1e-12));
    }
  }
}
