#include "analysis/physics/slab/concrete_diffusivity.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <random>

using namespace analysis::physics;

namespace {

const double kNan = std::numeric_limits<double>::quiet_NaN();

double relative(const MoistureShape& shape, double rh) {
  return relative_diffusivity_from_rh(shape, RelativeHumidity{rh}).value();
}
double factor(double celsius) {
  return diffusivity_factor_from_temperature(Celsius{celsius}).value();
}
double d1(double strength) {
  return saturated_diffusivity_from_strength(Megapascals{strength}).value().value();
}

// Seeded: the seed is shown beside each failure.
MoistureShape random_shape(std::mt19937_64& random) {
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>{low, high}(random);
  };
  return {uniform(0.02, 1.0), RelativeHumidity{uniform(0.6, 0.95)}, uniform(1.0, 30.0)};
}

}  // namespace

TEST_CASE("DiffusivityFollowsTheModelCodeShape") {
  // Source: Bazant and Najjar 1972 with the Model Code's a 0.05, hc 0.80, n 15, evaluated
  // independently (Python); 1e-4.
  const double rows[][2] = {{0.50, 0.05000}, {0.60, 0.05003}, {0.70, 0.05216}, {0.75, 0.08229},
                            {0.80, 0.52500}, {0.85, 0.98747}, {0.90, 0.99997}, {0.95, 1.00000}};
  for (const auto& row : rows) {
    INFO("RH " << row[0]);
    CHECK(relative({}, row[0]) == Approx(row[1]).margin(1e-5));
  }
}

TEST_CASE("DiffusivityAtTheMiddleIsTheMeanOfItsEnds") {
  std::mt19937_64 random{101};
  for (int i = 0; i < 200; ++i) {
    const MoistureShape shape = random_shape(random);
    CAPTURE(shape.dry_share, shape.middle_rh.value(), shape.steepness);
    CHECK(relative(shape, shape.middle_rh.value()) ==
          Approx(0.5 * (1.0 + shape.dry_share)).epsilon(1e-14));
    CHECK(relative(shape, 1.0) == 1.0);
  }
}

TEST_CASE("DiffusivityRisesWithHumidity") {
  for (int i = 0; i < 100; ++i) {
    CHECK(relative({}, 0.01 * i) <= relative({}, 0.01 * (i + 1)));
  }
  // Source: Bazant and Najjar 1972, abstract: it falls 10 to 20 times between 0.9 and 0.6.
  CHECK(relative({}, 0.9) / relative({}, 0.6) > 10.0);
  CHECK(relative({}, 0.9) / relative({}, 0.6) < 20.0);
}

TEST_CASE("SaturatedDiffusivityFallsWithStrength") {
  // Source: CEB-FIP Model Code 1990 (from memory); 1e-3.
  const double rows[][2] = {
      {20, 5.0e-10}, {30, 3.333e-10}, {40, 2.5e-10}, {50, 2.0e-10}, {60, 1.667e-10}};
  for (const auto& row : rows) {
    CHECK(d1(row[0]) == Approx(row[1]).epsilon(1e-3));
  }
  CHECK(d1(30.0) * 86400.0 * 1e6 == Approx(28.8).epsilon(1e-3));  // mm2/d
}

TEST_CASE("WarmthSpeedsDrying") {
  // Source: (T/T0) exp(4700 (1/T0 - 1/T)) evaluated independently (Python).
  const double rows[][2] = {{10, 0.548}, {15, 0.744}, {20, 1.0}, {25, 1.331}, {30, 1.755}};
  for (const auto& row : rows) {
    INFO(row[0] << " deg C");
    CHECK(factor(row[0]) == Approx(row[1]).margin(6e-4));
  }
  for (int t = 0; t < 50; ++t) {
    CHECK(factor(t + 1.0) > factor(t));
  }
}

TEST_CASE("TablePotentialIsTheIntegralOfTheDiffusivity") {
  std::mt19937_64 random{102};
  for (int i = 0; i < 20; ++i) {
    const MoistureShape shape = random_shape(random);
    CAPTURE(shape.dry_share, shape.middle_rh.value(), shape.steepness);
    const auto table = DiffusivityTable::from_shape(shape).value();
    constexpr int kPoints = 20000;
    double integral = 0.0;
    for (int k = 0; k < kPoints; ++k) {
      integral += relative(shape, (k + 0.5) / kPoints) / kPoints;
    }
    CHECK(table.potential(RelativeHumidity{1.0}) == Approx(integral).epsilon(2e-6));
    CHECK(table.potential(RelativeHumidity{0.0}) == 0.0);
  }
}

TEST_CASE("TableDiffusivityIsTheDerivativeOfItsPotential") {
  // Central differences; the potential is a quadratic between nodes, so only nodes lose an order.
  constexpr double kStep = 1e-6;
  std::mt19937_64 random{103};
  std::uniform_real_distribution<double> humidity{0.001, 0.999};
  for (int i = 0; i < 500; ++i) {
    const MoistureShape shape = random_shape(random);
    const double rh = humidity(random);
    CAPTURE(shape.dry_share, shape.middle_rh.value(), shape.steepness, rh);
    const auto table = DiffusivityTable::from_shape(shape).value();
    const double slope = (table.potential(RelativeHumidity{rh + kStep}) -
                          table.potential(RelativeHumidity{rh - kStep})) /
                         (2.0 * kStep);
    CHECK(table.relative_diffusivity(RelativeHumidity{rh}) == Approx(slope).epsilon(1e-5));
    CHECK(table.relative_diffusivity(RelativeHumidity{rh}) ==
          Approx(relative(shape, rh)).margin(2e-4));
  }
}

TEST_CASE("NothingOutsideTheConcreteDomainIsComputed") {
  const auto material_error = [](MoistureShape shape) {
    const auto result = relative_diffusivity_from_rh(shape, RelativeHumidity{0.5});
    return !result && result.error() == DomainError::material_out_of_domain &&
           !DiffusivityTable::from_shape(shape);
  };
  CHECK(material_error({0.0, RelativeHumidity{0.8}, 15.0}));
  CHECK(material_error({1.01, RelativeHumidity{0.8}, 15.0}));
  CHECK(material_error({0.05, RelativeHumidity{1.0}, 15.0}));
  CHECK(material_error({0.05, RelativeHumidity{0.0}, 15.0}));
  CHECK(material_error({0.05, RelativeHumidity{0.8}, 0.9}));
  CHECK(material_error({0.05, RelativeHumidity{0.8}, 31.0}));
  CHECK(material_error({kNan, RelativeHumidity{0.8}, 15.0}));
  for (const double rh : {-0.001, 1.001, kNan}) {
    CHECK(relative_diffusivity_from_rh({}, RelativeHumidity{rh}).error() ==
          DomainError::rh_out_of_domain);
  }
  for (const double strength : {11.9, 80.1, kNan}) {
    CHECK(saturated_diffusivity_from_strength(Megapascals{strength}).error() ==
          DomainError::material_out_of_domain);
  }
  for (const double celsius : {-0.1, 50.1, kNan}) {
    CHECK(diffusivity_factor_from_temperature(Celsius{celsius}).error() ==
          DomainError::temperature_out_of_domain);
  }
}
