// Golden table of an independent peer, so that ordinary runs compare with it without Node. Source:
// npm package psychrolib, version 1.1.1 (psychrolib 2.5.0, MIT licence), functions
// GetVapPresFromRelHum, GetTDewPointFromRelHum, GetHumRatioFromRelHum and GetTWetBulbFromRelHum,
// run with Node 20. Its dew point is over ice below 0.01 deg C, which is our frost point; above
// 0 deg C its RH is over water like ours. psychrolib_peer.sh repeats this on a finer grid.
#include <catch2/catch.hpp>

#include "analysis/physics/psychrometrics.hpp"

using namespace analysis::physics;

namespace {

struct PeerAir {
  double celsius, percent_rh, air_pa, vapour_pa, dew_celsius, ratio, wet_bulb_celsius;
};

constexpr PeerAir kPeerAir[] = {
    {25, 50, 101325, 1584.608, 13.8640, 0.009881044, 17.889},
    {20, 50, 101325, 1169.402, 9.2724, 0.007261737, 13.783},
    {20, 60, 101325, 1403.282, 12.0075, 0.008734481, 15.144},
    {20, 75, 101325, 1754.103, 15.4375, 0.010956569, 17.067},
    {18, 65, 101325, 1341.790, 11.3297, 0.008346594, 14.029},
    {22, 45, 101325, 1190.139, 9.5335, 0.007392041, 14.672},
    {30, 80, 101325, 3396.824, 26.1686, 0.021573340, 27.091},
    {10, 90, 101325, 1105.196, 8.4372, 0.006858634, 9.157},
    {20, 30, 101325, 701.641, 1.9143, 0.004336788, 10.853},
    {2, 95, 101325, 670.657, 1.2844, 0.004144000, 1.694},
    {5, 70, 101325, 610.741, -0.0082, 0.003771532, 2.859},
    {5, 85, 98000, 741.614, 2.6915, 0.004742449, 3.928},
    {8, 60, 95461, 643.704, 0.7151, 0.004222317, 4.636},
    {12, 40, 101325, 561.036, -1.0351, 0.003462883, 6.137},
    {12, 98, 101325, 1374.539, 11.6940, 0.008553116, 11.822},
    {15, 20, 101325, 341.090, -6.9017, 0.002100720, 5.952},
    {15, 55, 89875, 937.996, 6.0425, 0.006559498, 9.999},
    {15, 100, 101325, 1705.448, 15.0000, 0.010647455, 15.000},
    {17, 45, 101325, 872.077, 4.9933, 0.005399384, 10.683},
    {17, 60, 97700, 1162.769, 9.1880, 0.007491188, 12.482},
    {18, 25, 101325, 516.073, -2.0380, 0.003183934, 8.694},
    {19, 35, 102500, 769.229, 3.2070, 0.004702785, 10.909},
    {21, 48, 95461, 1194.080, 9.5827, 0.007878185, 14.161},
    {23, 45, 101325, 1264.699, 10.4403, 0.007860991, 15.469},
    {23, 60, 89875, 1686.265, 14.8245, 0.011892269, 17.526},
    {24, 72, 101325, 2149.291, 18.6430, 0.013478513, 20.341},
    {26, 15, 101325, 504.470, -2.3098, 0.003111990, 12.111},
    {27, 40, 99000, 1426.925, 12.2611, 0.009095426, 17.677},
    {28, 55, 80000, 2080.214, 18.1222, 0.016603980, 20.764},
    {29, 33, 101325, 1322.734, 11.1142, 0.008226493, 17.888},
    {32, 65, 101325, 3093.047, 24.5925, 0.019583295, 26.454},
    {35, 10, 101325, 562.782, -0.9976, 0.003473717, 15.926},
    {35, 90, 104000, 5065.038, 33.1083, 0.031840865, 33.464},
    {38, 28, 101325, 1856.812, 16.3272, 0.011610095, 23.108},
    {40, 50, 95000, 3691.730, 27.5852, 0.025146167, 30.173},
    {45, 60, 101325, 5755.932, 35.4076, 0.037458491, 36.972},
    {50, 20, 101325, 2469.971, 20.8839, 0.015539789, 28.408},
    {50, 95, 101325, 11732.364, 48.9702, 0.081445141, 49.068},
    {60, 40, 101325, 7977.504, 41.4591, 0.053151601, 43.764},
    {75, 30, 101325, 11577.707, 48.7049, 0.080233028, 51.093},
};

// The peer's air over ice: temperature, RH over ice, vapour, frost point, humidity ratio and wet
// bulb at 101325 Pa. Functions as above with GetSatVapPres and GetTDewPointFromVapPres.
struct PeerFrost {
  double celsius, vapour_pa, frost_celsius, ratio, wet_bulb_celsius;
};

constexpr PeerFrost kPeerFrost[] = {
    {-20, 41.3042, -29.2000, 0.000253633, -20.9212},
    {-20, 82.6083, -22.3039, 0.000507473, -20.3057},
    {-10, 103.9611, -19.9295, 0.000638781, -11.9724},
    {-10, 207.9223, -12.4896, 0.001278876, -10.6482},
    {-5, 160.7056, -15.3052, 0.000987998, -7.7200},
    {-5, 321.4113, -7.5853, 0.001979139, -5.8840},
    {-1, 225.0686, -11.6109, 0.001384574, -4.4186},
    {-1, 450.1372, -3.6632, 0.002775326, -2.0985},
};

}  // namespace

TEST_CASE("MoistAirAgreesWithThePeer") {
  for (const PeerAir& row : kPeerAir) {
    CAPTURE(row.celsius, row.percent_rh, row.air_pa);
    const Celsius dry_bulb{row.celsius};
    const RelativeHumidity rh = analysis::base::rh_from_percent(row.percent_rh);
    const Pascal air{row.air_pa};
    const Pascal vapour = vapour_pressure_from_rh(dry_bulb, rh).value();
    CHECK(vapour.value() == Approx(row.vapour_pa).epsilon(2e-6));
    const auto point = row.dew_celsius > 0.01 ? dew_point_from_vapour_pressure(vapour)
                                              : frost_point_from_vapour_pressure(vapour);
    CHECK(point.value().value() == Approx(row.dew_celsius).margin(0.001));
    CHECK(humidity_ratio_from_vapour_pressure(vapour, air).value().value() ==
          Approx(row.ratio).epsilon(2e-6));
    // The peer stops its bisection at 0.001 K.
    CHECK(wet_bulb_from_rh(dry_bulb, rh, air).value().value() ==
          Approx(row.wet_bulb_celsius).margin(0.0015));
  }
}

TEST_CASE("FrostAgreesWithThePeer") {
  constexpr Pascal kSeaLevel{101'325.0};
  for (const PeerFrost& row : kPeerFrost) {
    CAPTURE(row.celsius, row.vapour_pa);
    const Celsius dry_bulb{row.celsius};
    const Pascal vapour{row.vapour_pa};
    CHECK(frost_point_from_vapour_pressure(vapour).value().value() ==
          Approx(row.frost_celsius).margin(0.001));
    CHECK(humidity_ratio_from_vapour_pressure(vapour, kSeaLevel).value().value() ==
          Approx(row.ratio).epsilon(0).margin(1e-9));
    const RelativeHumidity over_water{vapour.value() /
                                      saturation_pressure_over_water(dry_bulb).value().value()};
    CHECK(wet_bulb_from_rh(dry_bulb, over_water, kSeaLevel).value().value() ==
          Approx(row.wet_bulb_celsius).margin(0.0015));
  }
}

TEST_CASE("AbsoluteHumidityAgreesWithTheGasLawOfThePeer") {
  // Source: the vapour pressures above over 461.52 J/(kg K) T, evaluated in Python; 0.1 %.
  struct Row {
    double celsius, percent_rh, grams_per_m3;
  };
  for (const Row& row : {Row{25, 50, 11.516}, Row{20, 50, 8.643}, Row{20, 60, 10.372},
                         Row{20, 75, 12.965}, Row{18, 65, 9.986}, Row{22, 45, 8.737},
                         Row{30, 80, 24.279}, Row{10, 90, 8.457}, Row{20, 30, 5.186}}) {
    CAPTURE(row.celsius, row.percent_rh);
    const auto vapour = vapour_pressure_from_rh(Celsius{row.celsius},
                                                analysis::base::rh_from_percent(row.percent_rh));
    CHECK(1000.0 * absolute_humidity_from_vapour_pressure(Celsius{row.celsius}, vapour.value())
                       .value()
                       .value() ==
          Approx(row.grams_per_m3).epsilon(1e-4));
  }
  CHECK(1000.0 *
            absolute_humidity_from_vapour_pressure(Celsius{-5.0}, Pascal{321.41}).value().value() ==
        Approx(2.597).epsilon(1e-3));
}
