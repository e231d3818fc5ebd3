#include "firmware-sim/sim/site/stack_truth.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

using namespace firmware::sim::site;
using analysis::base::Celsius;

namespace {

// n-th root of b tan b = Bi, n = 0, 1, ...
double root(int n, double biot) {
  double low = n * std::numbers::pi;
  double high = low + std::numbers::pi / 2.0;
  for (int i = 0; i < 200; ++i) {
    const double b = 0.5 * (low + high);
    (b * std::tan(b) < biot ? low : high) = b;
  }
  return 0.5 * (low + high);
}

// Middle of a plane wall with films, as a share of the first difference. Source: Incropera and
// others, Fundamentals of Heat and Mass Transfer, section 5.5.1 (from memory).
double middle_share(double biot, double fourier) {
  double sum = 0.0;
  for (int n = 0; n < 40; ++n) {
    const double b = root(n, biot);
    sum += 4.0 * std::sin(b) / (2.0 * b + std::sin(2.0 * b)) * std::exp(-b * b * fourier);
  }
  return sum;
}

}  // namespace

TEST_CASE("RootsOfTheSeriesAgreeWithTables") {
  // Carslaw and Jaeger, appendix IV table I, as quoted in the project's model notes.
  CHECK(root(0, 1.0) == Approx(0.86033359).margin(1e-7));
  CHECK(root(1, 1.0) == Approx(3.42561846).margin(1e-7));
  CHECK(root(0, 10.0) == Approx(1.42887001).margin(1e-7));
}

TEST_CASE("CoreFollowsTheSeriesSolution") {
  const StackParameters p;
  StackTruth stack{p};
  stack.deliver(Celsius{4.0});
  const double biot = p.film_w_per_m2k * p.half_thickness_m / p.conductivity_w_per_mk;
  const double diffusivity = p.conductivity_w_per_mk / p.heat_capacity_j_per_m3k;
  constexpr double kStepS = 30.0;
  for (int step = 1; step <= 120 * 120; ++step) {
    stack.advance(kStepS, Celsius{20.0});
    if (step % (120 * 6) == 0) {
      const double fourier =
          diffusivity * step * kStepS / (p.half_thickness_m * p.half_thickness_m);
      const double expected = 20.0 - 16.0 * middle_share(biot, fourier);
      CAPTURE(step * kStepS / 3600.0, expected);
      // Tolerance 0.01 K of a difference of 16 K; 0.005 K at most when it was measured.
      CHECK(stack.core().value() == Approx(expected).margin(0.01));
    }
  }
}

TEST_CASE("StackStoresExactlyTheHeatItTakes") {
  StackTruth stack{StackParameters{}};
  stack.deliver(Celsius{4.0});
  const double before_j = stack.stored_heat_j();
  double taken_j = 0.0;
  for (int step = 0; step < 10000; ++step) {
    taken_j += stack.advance(60.0, Celsius{18.0 + 4.0 * std::sin(0.01 * step)});
  }
  REQUIRE(taken_j > 1e6);
  CHECK(stack.stored_heat_j() - before_j == Approx(taken_j).epsilon(1e-10));
}
