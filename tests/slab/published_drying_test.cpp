// The drying model in days and beside what has been published about slabs.
#include <algorithm>
#include <catch2/catch.hpp>
#include <vector>

#include "analysis/physics/slab/drying_curve.hpp"

using namespace analysis::physics;

namespace {

constexpr double kSecondsPerDay = 86400.0;

double d1(double strength) {
  return saturated_diffusivity_from_strength(Megapascals{strength}).value().value();
}
DryingCurve curve_at(double depth_share, double initial = 0.98, double air = 0.50) {
  return DryingCurve::solve(DiffusivityTable::from_shape({}).value(), RelativeHumidity{initial},
                            RelativeHumidity{air}, depth_share)
      .value();
}
double scaled(double days, double length, double strength = 30.0) {
  return d1(strength) * days * kSecondsPerDay / (length * length);
}
double percent_after(const DryingCurve& curve, double days, double length) {
  return 100.0 * curve.rh_at(curve_place_from(ScaledTime{scaled(days, length)})).value();
}
double days_to(const DryingCurve& curve, double limit, double length, double strength = 30.0) {
  return curve.crossing_of(RelativeHumidity{limit})->value() / scaled(1.0, length, strength);
}

// Three-way drying of a 305 mm cube from 98 % in air of 50 %: explicit steps on an octant of cubic
// cells, the sealed planes being those of symmetry.
double percent_at_centre_of_cube(double days, double strength) {
  constexpr int kCells = 12;
  constexpr double kAir = 0.50;
  constexpr double kStep = 0.12;  // of the cell's square; stable below 1/6, less for surface cells
  const auto table = DiffusivityTable::from_shape({}).value();
  const auto index = [](int x, int y, int z) {
    return static_cast<std::size_t>((x * kCells + y) * kCells + z);
  };
  std::vector<double> rh(kCells * kCells * kCells, 0.98);
  std::vector<double> potential(rh.size());
  const double air = table.potential(RelativeHumidity{kAir});
  const double cell = 0.1525 / kCells;
  const int steps = static_cast<int>(scaled(days, cell, strength) / kStep);
  for (int step = 0; step < steps; ++step) {
    for (std::size_t i = 0; i < rh.size(); ++i) {
      potential[i] = table.potential(RelativeHumidity{rh[i]});
    }
    for (int x = 0; x < kCells; ++x) {
      for (int y = 0; y < kCells; ++y) {
        for (int z = 0; z < kCells; ++z) {
          const double here = potential[index(x, y, z)];
          const auto inflow = [&](int place, std::size_t outer, std::size_t inner) {
            const double from_outer = place == 0 ? 2.0 * (air - here) : potential[outer] - here;
            return from_outer + (place == kCells - 1 ? 0.0 : potential[inner] - here);
          };
          const double sum =
              inflow(x, index(std::max(x - 1, 0), y, z), index(std::min(x + 1, kCells - 1), y, z)) +
              inflow(y, index(x, std::max(y - 1, 0), z), index(x, std::min(y + 1, kCells - 1), z)) +
              inflow(z, index(x, y, std::max(z - 1, 0)), index(x, y, std::min(z + 1, kCells - 1)));
          rh[index(x, y, z)] += kStep * sum;
        }
      }
    }
  }
  return 100.0 * rh.back();
}

}  // namespace

TEST_CASE("NonlinearBenchmarkOf100Millimetres") {
  // Source: this model on 200 uniform layers, computed once independently; fck 30, 98 % to 50 %,
  // percent at 40 mm and at the sealed face; 0.3.
  const double rows[][3] = {{7, 97.10, 98.0},    {14, 94.89, 97.98},  {28, 91.75, 97.50},
                            {56, 88.50, 94.94},  {90, 86.21, 91.56},  {120, 84.72, 89.07},
                            {180, 82.55, 85.44}, {270, 80.39, 82.33}, {365, 78.75, 80.59}};
  const DryingCurve probe = curve_at(0.4);
  const DryingCurve sealed = curve_at(1.0);
  for (const auto& row : rows) {
    INFO("day " << row[0]);
    CHECK(percent_after(probe, row[0], 0.1) == Approx(row[1]).margin(0.15));
    CHECK(percent_after(sealed, row[0], 0.1) == Approx(row[2]).margin(0.15));
  }
}

TEST_CASE("MeanHumidityOf100Millimetres") {
  const double rows[][2] = {{28, 91.15}, {90, 85.76}, {180, 81.12}, {365, 76.00}};  // as above; 0.3
  const auto table = DiffusivityTable::from_shape({}).value();
  auto slab = DryingSlab::at_start(RelativeHumidity{0.98}, RelativeHumidity{0.50}).value();
  double day = 0.0;
  for (const auto& row : rows) {
    constexpr int kSteps = 200;
    for (int i = 0; i < kSteps; ++i) {
      REQUIRE(slab.advance(table, ScaledTime{scaled((row[0] - day) / kSteps, 0.1)}));
    }
    day = row[0];
    INFO("day " << day);
    CHECK(100.0 * slab.mean_rh().value() == Approx(row[1]).margin(0.3));
  }
}

TEST_CASE("DaysToEachLimitByThickness") {
  // Source: this model on 100 layers, computed once independently; days to 90, 85, 80, 75 % at 40 %
  // of the depth, fck 30, 98 % to 50 %; 2 %.
  const double rows[][5] = {{50, 10.1, 28.4, 72.5, 151},
                            {75, 22.8, 63.8, 163, 340},
                            {100, 40.5, 113.4, 290, 604},
                            {150, 91, 255, 652, 1360},
                            {200, 162, 454, 1159, 2418}};
  const double limits[] = {0.90, 0.85, 0.80, 0.75};
  const DryingCurve curve = curve_at(0.4);
  for (const auto& row : rows) {
    for (int i = 0; i < 4; ++i) {
      INFO(row[0] << " mm to " << limits[i]);
      CHECK(days_to(curve, limits[i], row[0] / 1000.0) == Approx(row[i + 1]).epsilon(0.01));
    }
  }
  // And from 97 %, as computed in another program: 100 mm 36, 107, 283 d; 150 mm 80, 240, 638 d.
  const DryingCurve from_97 = curve_at(0.4, 0.97);
  const double other[][4] = {{100, 36, 107, 283}, {150, 80, 240, 638}};
  for (const auto& row : other) {
    for (int i = 0; i < 3; ++i) {
      CHECK(days_to(from_97, limits[i], row[0] / 1000.0) == Approx(row[i + 1]).epsilon(0.01));
    }
  }
}

TEST_CASE("InitialHumidityMovesTheDay") {
  // Source: as above: 100 mm to 85 % from 95, 98, 99 %; 2 %.
  CHECK(days_to(curve_at(0.4, 0.95), 0.85, 0.1) == Approx(90.6).epsilon(0.01));
  CHECK(days_to(curve_at(0.4, 0.98), 0.85, 0.1) == Approx(113.4).epsilon(0.01));
  CHECK(days_to(curve_at(0.4, 0.99), 0.85, 0.1) == Approx(120.3).epsilon(0.01));
}

TEST_CASE("TwoFacesAtAFifthAreOneFaceAtTwoFifths") {
  // The reason for the two depths of ASTM F2170. A slab of 100 mm that dries both ways is solved
  // here as two halves; its percent at 20 mm by an independent two-sided solution of 100 layers at
  // 28, 56, 90 and 180 d; 0.3.
  const DryingCurve half = curve_at(0.4);
  const double rows[][2] = {{28, 85.03}, {56, 81.34}, {90, 78.79}, {180, 73.00}};
  for (const auto& row : rows) {
    INFO("day " << row[0]);
    CHECK(percent_after(half, row[0], 0.05) == Approx(row[1]).margin(0.3));
  }
  // 28.2 d on those 100 layers and 28.4 d one-sided on 100; here 28.5.
  CHECK(days_to(half, 0.85, 0.05) == Approx(28.2).epsilon(0.012));
  CHECK(days_to(half, 0.85, 0.05) == Approx(28.4).epsilon(0.005));
}

TEST_CASE("TimeGoesWithTheSquareOfLengthAndWithStrength") {
  const DryingCurve curve = curve_at(0.4);
  CHECK(days_to(curve, 0.85, 0.2) == Approx(4.0 * days_to(curve, 0.85, 0.1)).epsilon(1e-12));
  CHECK(days_to(curve, 0.85, 0.1, 60.0) ==
        Approx(2.0 * days_to(curve, 0.85, 0.1, 30.0)).epsilon(1e-12));
}

TEST_CASE("InchPerMonthHoldsAt100MillimetresAndFailsAt200") {
  // Common practice: 30 days an inch, to 85 %. Agrees at 100 mm (113 d against 118), fails at 200
  // (454 against 236) because time goes with the square.
  const DryingCurve curve = curve_at(0.4);
  const auto rule = [](double millimetres) { return millimetres / 25.4 * 30.0; };
  CHECK(days_to(curve, 0.85, 0.1) == Approx(rule(100)).epsilon(0.10));
  CHECK(days_to(curve, 0.85, 0.2) > 1.8 * rule(200));
}

TEST_CASE("BelowEightyPercentTheModelIsSlowerThanTheCubesOf1940") {
  // Source: Gause and Tucker, NBS RP1334, J. Res. 25:403 (1940), abstract: 305 mm cubes, 300 d in
  // air of 50 %, 66 % at the centre. A disagreement: the model leaves 79 to 82 % there for fck 15
  // to
  // 30. So its shape is not to be trusted below 80 % without readings of the site.
  const double weaker = percent_at_centre_of_cube(300.0, 15.0);
  const double stronger = percent_at_centre_of_cube(300.0, 30.0);
  CHECK(weaker == Approx(79.0).margin(1.0));
  CHECK(stronger == Approx(82.0).margin(1.0));
  CHECK(weaker > 66.0);
}

TEST_CASE("HedenbladTableFromMemoryIsOfTheSameOrder") {
  // Source: Hedenblad, Drying of Construction Water in Concrete, 1997, from memory and unverified:
  // 180 mm, both faces, 60 % air, 18 deg C, to 85 %: 50, 90, 135, 180 d for water-cement ratios
  // 0.4 to 0.7. No strength goes with them; the model's range for fck 25 to 50 overlaps.
  const DryingCurve curve = curve_at(0.4, 0.97, 0.60);
  const double warmth = diffusivity_factor_from_temperature(Celsius{18.0}).value();
  const double fast = days_to(curve, 0.85, 0.09, 25.0) / warmth;
  const double slow = days_to(curve, 0.85, 0.09, 50.0) / warmth;
  INFO(fast << " to " << slow << " d");
  CHECK(fast < 135.0);
  CHECK(slow > 90.0);
}
