#include "firmware-sim/sim/site/solids/slab_truth.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>
#include <vector>

#include "tests/sim/site/plane_wall_series.hpp"

using namespace firmware::sim::site;
using analysis::base::Celsius;
using analysis::base::Metres;
using analysis::base::RelativeHumidity;

namespace {

constexpr double kStart = 0.97;
constexpr double kAir = 0.5;

// Plane sheet, one face held at `surface`, the other sealed, uniform start. Source: Crank, The
// Mathematics of Diffusion, 2nd ed. 1975, section 4.3.1 (from memory), x from the open face.
double series_rh(double x_m, double thickness_m, double d_t_m2) {
  double sum = 0.0;
  for (int n = 0; n < 200; ++n) {
    const double k = (2 * n + 1) * std::numbers::pi / (2.0 * thickness_m);
    sum += 4.0 / ((2 * n + 1) * std::numbers::pi) * std::sin(k * x_m) * std::exp(-k * k * d_t_m2);
  }
  return kAir + (kStart - kAir) * sum;
}

SlabParameters linear_slab(std::size_t cells) {
  SlabParameters parameters;
  parameters.d_ref_m2_per_s = 1e-9;
  parameters.d_steepness = 0.0;
  parameters.d_per_k = 0.0;
  parameters.surface_kg_per_m2s = 1.0;  // next to no film
  parameters.cells = cells;
  return parameters;
}

// Largest distance from the series at three depths within 60 days, as an RH fraction.
double most_off_series(std::size_t cells, double step_s) {
  SlabTruth slab{linear_slab(cells)};
  const int steps_in_ten_days = static_cast<int>(864000.0 / step_s);
  double most = 0.0;
  for (int step = 1; step <= 6 * steps_in_ten_days; ++step) {
    slab.advance(step_s, Celsius{20.0}, RelativeHumidity{kAir});
    if (step % steps_in_ten_days == 0) {
      for (const double depth_m : {0.02, 0.04, 0.08}) {
        const double expected = series_rh(depth_m, 0.10, 1e-9 * step * step_s);
        most = std::max(most, std::abs(slab.rh_at(Metres{depth_m}).value() - expected));
      }
    }
  }
  return most;
}

// Explicit in time, K at the mean RH of two neighbours, a film without half a cell: another scheme
// altogether for the slab's default law.
std::vector<double> explicit_profile(const SlabParameters& p, std::size_t cells, double days) {
  const double cell_m = p.thickness_m / static_cast<double>(cells);
  const double step_s = 0.2 * cell_m * cell_m / 4e-9;
  std::vector<double> rh(cells, p.cast_rh_fraction);
  const auto diffusivity = [&](double h) {
    return p.d_ref_m2_per_s * std::exp(p.d_steepness * (h - 0.8));
  };
  for (double passed_s = 0.0; passed_s < days * 86400.0; passed_s += step_s) {
    std::vector<double> flow(cells + 1, 0.0);  // upwards, RH m/s
    const double inside_m_per_s = 2.0 * diffusivity(rh.front()) / cell_m;
    const double film_m_per_s = p.surface_kg_per_m2s / p.capacity_kg_per_m3;
    flow[0] = (rh.front() - kAir) / (1.0 / inside_m_per_s + 1.0 / film_m_per_s);
    for (std::size_t i = 1; i < cells; ++i) {
      flow[i] = diffusivity(0.5 * (rh[i - 1] + rh[i])) * (rh[i] - rh[i - 1]) / cell_m;
    }
    for (std::size_t i = 0; i < cells; ++i) {
      rh[i] += step_s / cell_m * (flow[i + 1] - flow[i]);
    }
  }
  return rh;
}

}  // namespace

TEST_CASE("LinearSlabFollowsTheSeriesSolution") {
  // Of a difference of 47 %RH.
  const double usual_grid = most_off_series(25, 600.0);
  CAPTURE(usual_grid);
  CHECK(usual_grid < 3e-4);
}

TEST_CASE("FinerSlabGridsComeNearerToTheSeriesInTheSecondOrder") {
  const double coarse = most_off_series(10, 600.0);
  const double middle = most_off_series(20, 600.0);
  const double fine = most_off_series(40, 600.0);
  CAPTURE(coarse, middle, fine);
  CHECK(coarse / middle > 3.0);
  CHECK(middle / fine > 3.0);
}

TEST_CASE("SlabUnderAFilmFollowsTheSeriesSolution") {
  SlabParameters parameters = linear_slab(50);
  parameters.surface_kg_per_m2s = 6e-7;  // Biot number 1
  SlabTruth slab{parameters};
  constexpr double kStepS = 600.0;
  for (int step = 1; step <= 144 * 60; ++step) {
    slab.advance(kStepS, Celsius{20.0}, RelativeHumidity{kAir});
    if (step % (144 * 10) == 0) {
      for (const double depth_m : {0.0, 0.04, 0.08}) {
        // The sealed bottom is the middle of a wall twice as thick.
        const double place = depth_m == 0.0 ? 0.99 : 1.0 - depth_m / 0.10;
        const double expected =
            kAir + (kStart - kAir) * plane_wall_share(place, 1.0, 1e-9 * step * kStepS / 0.01);
        CAPTURE(step, depth_m);
        CHECK(slab.rh_at(Metres{0.10 * (1.0 - place)}).value() == Approx(expected).margin(2e-4));
      }
    }
  }
}

TEST_CASE("SteepLawAgreesWithAnExplicitScheme") {
  const SlabParameters parameters;
  SlabTruth slab{parameters};
  for (int step = 0; step < 20 * 144; ++step) {
    slab.advance(600.0, Celsius{20.0}, RelativeHumidity{kAir});
  }
  const std::vector<double> peer = explicit_profile(parameters, 100, 20.0);
  for (const std::size_t cell : {10U, 40U, 90U}) {
    const double depth_m = (static_cast<double>(cell) + 0.5) * 1e-3;
    CAPTURE(depth_m);
    CHECK(slab.rh_at(Metres{depth_m}).value() == Approx(peer[cell]).margin(1e-3));
  }
}

TEST_CASE("SlabLosesExactlyTheWaterItGivesOff") {
  SlabTruth slab{SlabParameters{}};
  const double before = slab.water_kg_per_m2();
  double given_off = 0.0;
  for (int step = 0; step < 20000; ++step) {
    const double rh = 0.5 + 0.2 * std::sin(0.01 * step);
    given_off +=
        slab.advance(300.0, Celsius{15.0 + 5.0 * std::cos(0.003 * step)}, RelativeHumidity{rh});
  }
  REQUIRE(given_off > 0.5);
  CHECK(slab.water_kg_per_m2() == Approx(before - given_off).epsilon(1e-10));
}

TEST_CASE("DriesFromTheTopAndNeverBelowTheAir") {
  SlabTruth slab{SlabParameters{}};
  for (int step = 0; step < 100000; ++step) {
    slab.advance(3600.0, Celsius{20.0}, RelativeHumidity{0.5});
    if (step % 1000 == 5) {
      CHECK(slab.rh_at(Metres{0.01}).value() < slab.rh_at(Metres{0.05}).value());
      CHECK(slab.rh_at(Metres{0.05}).value() < slab.rh_at(Metres{0.09}).value());
    }
    if (slab.rh_at(Metres{0.09}).value() < 0.51) {
      break;
    }
  }
  CHECK(slab.rh_at(Metres{0.09}).value() == Approx(0.51).margin(1e-3));
  CHECK(slab.rh_at(Metres{0.0}).value() >= 0.5);
}

TEST_CASE("WarmSlabDriesQuicker") {
  SlabTruth warm{SlabParameters{}};
  SlabTruth cold{SlabParameters{}};
  for (int step = 0; step < 2000; ++step) {
    warm.advance(3600.0, Celsius{25.0}, RelativeHumidity{0.5});
    cold.advance(3600.0, Celsius{10.0}, RelativeHumidity{0.5});
  }
  CHECK(warm.rh_at_probe().value() < cold.rh_at_probe().value() - 0.01);
}

TEST_CASE("StartsAtTheRhAskedFor") {
  SlabTruth slab{SlabParameters{}};
  slab.dry_until_start();
  CHECK(slab.rh_at_probe().value() == Approx(0.775).margin(1e-3));
  CHECK(slab.rh_at_probe().value() <= 0.775);
}

TEST_CASE("SlabThatNeverGetsThereStopsDrying") {
  SlabParameters parameters;
  parameters.start_air_rh_fraction = 0.80;
  SlabTruth slab{parameters};
  slab.dry_until_start();
  CHECK(slab.rh_at_probe().value() == Approx(0.80).margin(1e-4));
}

TEST_CASE("SlowThickSlabIsReadyToStartWithoutAWait") {
  SlabParameters parameters;
  parameters.thickness_m = 0.4;
  parameters.probe_depth_m = 0.2;
  parameters.d_ref_m2_per_s = 1e-11;
  SlabTruth slab{parameters};
  slab.dry_until_start();
  CHECK(slab.rh_at_probe().value() == Approx(0.775).margin(1e-3));
}
