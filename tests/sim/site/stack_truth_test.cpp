#include "firmware-sim/sim/site/solids/stack_truth.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "tests/sim/site/plane_wall_series.hpp"

using namespace firmware::sim::site;
using analysis::base::Celsius;

namespace {

constexpr double kFrom = 4.0;
constexpr double kAir = 20.0;

// In air of one temperature the section's solution is the product of two plane walls (Carslaw and
// Jaeger, section 1.15, from memory).
double series_core(const StackParameters& p, double hours) {
  const auto share = [&](double half_m, double conductivity) {
    const double diffusivity = conductivity / p.heat_capacity_j_per_m3k;
    return plane_wall_share(0.0, p.film_w_per_m2k * half_m / conductivity,
                            diffusivity * hours * 3600.0 / (half_m * half_m));
  };
  return kAir + (kFrom - kAir) * share(p.half_thickness_m, p.conductivity_w_per_mk) *
                    share(p.half_width_m, p.conductivity_along_w_per_mk);
}

// Largest distance of the core from the series within five days, looked at every six hours.
double most_off_k(const StackParameters& p, double step_s) {
  StackTruth stack{p};
  stack.deliver(Celsius{kFrom});
  double most = 0.0;
  for (int sixth = 1; sixth <= 20; ++sixth) {
    for (int i = 0; i < static_cast<int>(6.0 * 3600.0 / step_s); ++i) {
      stack.advance(step_s, Celsius{kAir});
    }
    most = std::max(most, std::abs(stack.core().value() - series_core(p, 6.0 * sixth)));
  }
  return most;
}

StackParameters with_cells(std::size_t thickness, std::size_t width) {
  StackParameters p;
  p.half_width_m = 0.2;  // narrow: both directions count
  p.thickness_cells = thickness;
  p.width_cells = width;
  return p;
}

}  // namespace

TEST_CASE("RootsOfTheSeriesAgreeWithTables") {
  // Carslaw and Jaeger, appendix IV, table I, four digits (from memory).
  CHECK(plane_wall_root(0, 1.0) == Approx(0.8603).margin(5e-5));
  CHECK(plane_wall_root(1, 1.0) == Approx(3.4256).margin(5e-5));
  CHECK(plane_wall_root(0, 10.0) == Approx(1.4289).margin(5e-5));
}

TEST_CASE("CoreFollowsTheSeriesSolution") {
  // Tolerances of a difference of 16 K.
  const double usual = most_off_k(StackParameters{}, 30.0);
  const double narrow = most_off_k(with_cells(24, 8), 30.0);
  CAPTURE(usual, narrow);
  CHECK(usual < 0.005);
  CHECK(narrow < 0.04);
}

TEST_CASE("FinerGridsComeNearerToTheSeriesInTheSecondOrder") {
  const double coarse = most_off_k(with_cells(6, 4), 30.0);
  const double middle = most_off_k(with_cells(12, 8), 30.0);
  const double fine = most_off_k(with_cells(24, 16), 30.0);
  CAPTURE(coarse, middle, fine);
  CHECK(coarse / middle > 3.0);
  CHECK(middle / fine > 3.0);
}

TEST_CASE("ShorterStepsComeNearerToTheSeriesInTheFirstOrder") {
  const StackParameters p = with_cells(48, 32);
  const double hour = most_off_k(p, 3600.0);
  const double half = most_off_k(p, 1800.0);
  CAPTURE(hour, half);
  CHECK(hour / half == Approx(2.0).margin(0.2));
}

TEST_CASE("StackStoresExactlyTheHeatItTakes") {
  StackTruth stack{StackParameters{}};
  stack.deliver(Celsius{kFrom});
  const double before_j = stack.stored_heat_j();
  double taken_j = 0.0;
  for (int step = 0; step < 10000; ++step) {
    taken_j += stack.advance(60.0, Celsius{18.0 + 4.0 * std::sin(0.01 * step)});
  }
  REQUIRE(taken_j > 1e6);
  CHECK(stack.stored_heat_j() - before_j == Approx(taken_j).epsilon(1e-10));
  // 0.22 m by 1.15 m by 1.3 m at 1.74 MJ/(m3 K).
  stack.deliver(Celsius{1.0});
  CHECK(stack.stored_heat_j() == Approx(0.22 * 1.15 * 1.3 * 1.74e6));
}
