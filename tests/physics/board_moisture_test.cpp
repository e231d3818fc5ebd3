#include "analysis/physics/panel/board_moisture.hpp"

#include <catch2/catch.hpp>
#include <limits>

using namespace analysis::physics;
using analysis::base::Celsius;
using analysis::base::RelativeHumidity;
using analysis::base::rh_from_percent;

namespace {

struct Band {
  double percent_rh, lowest_percent, highest_percent;
};

// Source: Australasian wood panels association, "Facts about Particleboard and MDF", p. 37 (seen);
// temperature not given there, taken as 20 deg C.
constexpr Band kPublishedBands[] = {
    {30, 6, 8}, {45, 7, 9}, {65, 9, 11}, {75, 10, 12}, {90, 15, 16}};

MoistureContentRange at_20_celsius(double percent_rh) {
  return board_emc_from_rh(Celsius{20.0}, rh_from_percent(percent_rh)).value();
}

}  // namespace

TEST_CASE("BoardMoistureIsItsShareOfWood") {
  // Source: eq. 4-5 of the Wood Handbook gives 9.27 % at 20 deg C and 50 %RH; times the shares.
  const auto board = at_20_celsius(50.0);
  CHECK(100.0 * board.low.value() == Approx(4.17).margin(0.01));
  CHECK(100.0 * board.expected.value() == Approx(7.42).margin(0.01));
  CHECK(100.0 * board.high.value() == Approx(7.42).margin(0.01));
  const auto other =
      board_emc_from_rh(Celsius{20.0}, RelativeHumidity{0.5}, {0.5, 0.7, 1.0}).value();
  CHECK(100.0 * other.low.value() == Approx(4.64).margin(0.01));
  CHECK(100.0 * other.expected.value() == Approx(6.49).margin(0.01));
  CHECK(100.0 * other.high.value() == Approx(9.27).margin(0.01));
}

TEST_CASE("BoardMoistureMeetsThePublishedBandsInDampAirOnly") {
  // What the header says of the range, band by band, so that it can't become untrue unseen.
  for (const Band& band : kPublishedBands) {
    CAPTURE(band.percent_rh);
    const auto board = at_20_celsius(band.percent_rh);
    const bool overlaps = 100.0 * board.high.value() >= band.lowest_percent &&
                          100.0 * board.low.value() <= band.highest_percent;
    CHECK(overlaps == (band.percent_rh >= 65.0));
  }
  CHECK(100.0 * at_20_celsius(30.0).high.value() == Approx(5.0).margin(0.06));
  CHECK(100.0 * at_20_celsius(45.0).high.value() == Approx(6.8).margin(0.02));
  // The default lies inside the bands of 65 and 75 %, and 0.4 points above that of 90 %.
  CHECK(100.0 * at_20_celsius(65.0).expected.value() == Approx(9.6).margin(0.01));
  CHECK(100.0 * at_20_celsius(75.0).expected.value() == Approx(11.56).margin(0.01));
  CHECK(100.0 * at_20_celsius(90.0).expected.value() == Approx(16.42).margin(0.01));
}

TEST_CASE("LowestShareFollowsTheSlopeOfTheIndustryPage") {
  // Source: an industry page on MDF: 35 to 85 %RH is 5 points of moisture content (seen).
  const auto dry = at_20_celsius(35.0);
  const auto damp = at_20_celsius(85.0);
  CHECK(100.0 * (damp.low.value() - dry.low.value()) == Approx(5.0).margin(0.05));
  CHECK(100.0 * (damp.expected.value() - dry.expected.value()) == Approx(8.8).margin(0.05));
}

TEST_CASE("BoardMoistureRefusesUnsoundSharesAndAirOutsideTheHandbook") {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const RelativeHumidity half{0.5};
  for (const BoardShareOfWood& shares :
       {BoardShareOfWood{0.0, 0.5, 0.8}, BoardShareOfWood{0.6, 0.5, 0.8},
        BoardShareOfWood{0.5, 0.9, 0.8}, BoardShareOfWood{0.5, 0.8, 1.51},
        BoardShareOfWood{nan, 0.5, 0.8}, BoardShareOfWood{0.5, nan, 0.8},
        BoardShareOfWood{0.5, 0.5, nan}}) {
    CHECK(board_emc_from_rh(Celsius{20.0}, half, shares).error() ==
          DomainError::material_out_of_domain);
  }
  CHECK(board_emc_from_rh(Celsius{-5.0}, half).error() == DomainError::temperature_out_of_domain);
  CHECK(board_emc_from_rh(Celsius{20.0}, RelativeHumidity{0.97}).error() ==
        DomainError::rh_out_of_domain);
}
