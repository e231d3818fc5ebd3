#include "analysis/physics/stack/stack_heat.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <numbers>
#include <random>
#include <vector>

#include "analysis/physics/stack/warm_up.hpp"
#include "tests/stack/series_oracle.hpp"

using namespace analysis::physics;
using stack_oracle::Brick;

namespace {

constexpr Micros kQuarter{900'000'000};

Micros hours(double h) { return analysis::base::micros_from_hours(h); }

StackGeometry stack(double width, double height, StackBottom bottom) {
  return {Metres{1.29}, Metres{width}, Metres{height}, bottom};
}

Brick brick_of(const StackGeometry& g, const StackMaterial& m) {
  const double depth =
      g.bottom == StackBottom::on_floor ? g.height.value() : 0.5 * g.height.value();
  return {0.5 * g.length.value(),
          0.5 * g.width.value(),
          depth,
          m.conductivity_in_plane_w_per_m_k,
          m.conductivity_across_w_per_m_k,
          m.film_w_per_m2_k,
          m.density_kg_per_m3 * m.heat_capacity_j_per_kg_k};
}

StackField field_of(const StackGeometry& g, const StackMaterial& m, double delivery) {
  return StackField::start(g, m, Celsius{delivery}).value();
}

// Worst difference of the core from the series after the first hour, stepping by quarter hours.
double worst_difference(const StackGeometry& g, const StackMaterial& m,
                        const std::vector<double>& air, double start) {
  StackField field = field_of(g, m, start);
  stack_oracle::VaryingRoom oracle{brick_of(g, m), start};
  double worst = 0.0;
  for (std::size_t i = 1; i < air.size(); ++i) {
    field.step(kQuarter, Celsius{air[i - 1]}, Celsius{air[i]});
    oracle.advance(900.0, air[i - 1], air[i]);
    if (i > 4) {
      worst =
          std::max(worst, std::abs(field.coldest_when_warming().value() - oracle.centre_celsius()));
    }
  }
  return worst;
}

// 17 +- 4 deg C over the day and a step of 3 K after 30 h.
std::vector<double> daily_air(int quarters) {
  std::vector<double> air;
  for (int i = 0; i <= quarters; ++i) {
    air.push_back(17.0 + 4.0 * std::sin(2.0 * std::numbers::pi * i / 96.0) + (i > 120 ? 3.0 : 0.0));
  }
  return air;
}

double warm_hours(const StackGeometry& g, const StackMaterial& m, double delivery = 2.0) {
  const auto found = time_until_within(field_of(g, m, delivery), Celsius{20.0}, KelvinDelta{1.0},
                                       hours(24.0 * 60.0));
  REQUIRE(found.has_value());
  return analysis::base::hours_from(*found);
}

}  // namespace

TEST_CASE("TheSeriesHasTheRootsOfTheHandbook") {
  // Source: Incropera et al. Table 5.1 / Cengel Table 4-2 (from memory, recomputed to these
  // digits).
  const auto one = stack_oracle::wall_modes(1.0, 1.0, 1.0, 1.0, 2);
  CHECK(one[0].root == Approx(0.86033359).margin(1e-7));
  CHECK(one[1].root == Approx(3.42561846).margin(1e-7));
  CHECK(one[0].centre == Approx(1.1191).margin(1e-4));
  const auto ten = stack_oracle::wall_modes(1.0, 1.0, 10.0, 1.0, 1);
  CHECK(ten[0].root == Approx(1.42887001).margin(1e-7));
  CHECK(ten[0].centre == Approx(1.2620).margin(1e-4));
  CHECK(stack_oracle::wall_modes(1.0, 1.0, 0.01, 1.0, 1)[0].root == Approx(0.0998).margin(1e-4));
  CHECK(stack_oracle::wall_modes(1.0, 1.0, 100.0, 1.0, 1)[0].root == Approx(1.5552).margin(1e-4));
}

TEST_CASE("StackOfOneWidthFollowsTheSeriesInASteadyRoom") {
  // Source: product of three plane-wall series evaluated independently (Python). k 0.15, 0.15,
  // 0.13 W/mK, h 6.5 W/m2K, rho cp 1.74e6 J/m3K, from 2 into 20 deg C, all faces in air.
  const StackGeometry g = stack(0.195, 0.54, StackBottom::on_battens);
  const Brick brick = brick_of(g, kMidStack);
  StackField field = field_of(g, kMidStack, 2.0);
  const double shares[] = {0.335084, 0.081583, 0.018970};
  const double cores[] = {13.968, 18.532, 19.659};
  for (int day = 0; day < 3; ++day) {
    field.step(hours(24.0), Celsius{20.0}, Celsius{20.0});
    CHECK(stack_oracle::centre_share(brick, 86400.0 * (day + 1)) ==
          Approx(shares[day]).margin(1e-6));
    CHECK(field.coldest_when_warming().value() == Approx(cores[day]).margin(0.05));
  }
}

TEST_CASE("WideStackFollowsTheWorkedExample") {
  // Source: 60-term series evaluated independently (Python), its 0.30 m wall checked by
  // Crank-Nicolson. 1.30 x 0.40 x 0.30 m, k 0.18, 800 kg/m3, 1700 J/kgK, h 7.7, 5 into 20 deg C.
  const StackGeometry g{Metres{1.30}, Metres{0.40}, Metres{0.30}, StackBottom::on_battens};
  const StackMaterial m{0.18, 0.18, 800.0, 1700.0, 7.7};
  const Brick brick = brick_of(g, m);
  StackField field = field_of(g, m, 5.0);
  struct Row {
    double step_hours, hours, share, celsius;
  };
  for (const Row& row :
       {Row{12, 12, 0.7131, 9.30}, Row{12, 24, 0.3469, 14.80}, Row{24, 48, 0.0767, 18.85},
        Row{24, 72, 0.0167, 19.75}, Row{24, 96, 0.0036, 19.95}}) {
    field.step(hours(row.step_hours), Celsius{20.0}, Celsius{20.0});
    CAPTURE(row.hours);
    CHECK(stack_oracle::centre_share(brick, 3600.0 * row.hours) == Approx(row.share).margin(1e-4));
    CHECK(field.coldest_when_warming().value() == Approx(row.celsius).margin(0.05));
  }
  const double share_hours[][2] = {
      {0.5, 18.07}, {0.1, 43.80}, {1.0 / 15.0, 50.22}, {0.05, 54.75}, {0.02, 69.15}};
  for (const auto& row : share_hours) {
    CHECK(stack_oracle::seconds_until_share(brick, row[0]) / 3600.0 == Approx(row[1]).margin(0.01));
  }
}

TEST_CASE("HoursToWarmAgreeWithTheSeriesForUsualStacks") {
  // From 2 into 20 deg C until within 1 K. The whole hours are an independent evaluation of the
  // series (Python): all faces in air for the mid, fast and slow set, then an insulated floor, mid.
  struct Row {
    double width, height, mid, fast, slow, floor_mid;
  };
  for (const Row& row : {Row{.195, .09, 15, 11, 22, 31}, Row{.30, .09, 17, 12, 26, 41},
                         Row{.195, .36, 48, 33, 71, 57}, Row{.195, .54, 54, 38, 81, 58},
                         Row{.195, .90, 58, 40, 87, 58}, Row{.30, .36, 79, 55, 116, 110},
                         Row{.30, .90, 115, 80, 172, 120}, Row{.39, .36, 102, 71, 149, 159},
                         Row{.39, .54, 138, 96, 203, 178}, Row{.39, .90, 171, 118, 254, 186},
                         Row{.78, .90, 392, 274, 575, 515}}) {
    CAPTURE(row.width, row.height);
    const StackGeometry battens = stack(row.width, row.height, StackBottom::on_battens);
    const StackGeometry floor = stack(row.width, row.height, StackBottom::on_floor);
    const auto check = [](const StackGeometry& g, const StackMaterial& m, double expected) {
      const double exact = stack_oracle::seconds_until_share(brick_of(g, m), 1.0 / 18.0) / 3600.0;
      CHECK(exact == Approx(expected).margin(0.6));  // the table is in whole hours
      CHECK(warm_hours(g, m) == Approx(exact).epsilon(0.006));
    };
    check(battens, kMidStack, row.mid);
    check(battens, kFastStack, row.fast);
    check(battens, kSlowStack, row.slow);
    check(floor, kMidStack, row.floor_mid);
  }
}

TEST_CASE("HoursToWarmDependOnTheStartAndTheFilm") {
  // Six high and one wide, all faces in air. Source: the series evaluated independently (Python).
  const StackGeometry g = stack(0.195, 0.54, StackBottom::on_battens);
  const double by_start[][2] = {{5, 33}, {10, 45}, {18, 54}, {25, 60}};
  for (const auto& row : by_start) {
    CHECK(warm_hours(g, kMidStack, 20.0 - row[0]) == Approx(row[1]).margin(0.6));
  }
  const double by_film[][2] = {{5, 60}, {6.5, 54}, {8, 51}};
  for (const auto& row : by_film) {
    StackMaterial m = kMidStack;
    m.film_w_per_m2_k = row[0];
    CHECK(warm_hours(g, m) == Approx(row[1]).margin(0.6));
  }
  CHECK(warm_hours(g, kMidStack, 19.5) == 0.0);
  CHECK(warm_hours(g, kMidStack, 25.0) == Approx(warm_hours(g, kMidStack, 15.0)).margin(1e-6));
}

TEST_CASE("VaryingRoomStaysWithinFiveHundredthsOfTheSeries") {
  const auto air = daily_air(4 * 24 * 4);
  for (const StackBottom bottom : {StackBottom::on_battens, StackBottom::on_floor}) {
    for (const auto& size : {std::pair{0.195, 0.09}, {0.195, 0.54}, {0.39, 0.36}, {0.78, 0.90}}) {
      CAPTURE(size.first, size.second, static_cast<int>(bottom));
      const double worst =
          worst_difference(stack(size.first, size.second, bottom), kMidStack, air, 2.0);
      CAPTURE(worst);
      CHECK(worst < 0.05);
    }
  }
}

TEST_CASE("CubesAndLargeStacksStayWithinFiveHundredthsOfTheSeries") {
  // The sizes with the largest errors: short in every direction, and as fast as the range allows.
  const auto air = daily_air(4 * 24 * 2);
  for (const StackMaterial& m : {kFastStack, kSlowStack}) {
    for (const StackBottom bottom : {StackBottom::on_battens, StackBottom::on_floor}) {
      for (const double side : {0.10, 0.30, 0.60}) {
        CAPTURE(side, static_cast<int>(bottom), m.film_w_per_m2_k);
        const StackGeometry g{Metres{side}, Metres{side}, Metres{side}, bottom};
        CHECK(worst_difference(g, m, air, 2.0) < 0.05);
      }
    }
  }
}

TEST_CASE("IrregularStepsStayWithinFiveHundredthsOfTheSeries") {
  const unsigned seed = 20240611;
  CAPTURE(seed);
  std::mt19937 random{seed};
  const StackGeometry g = stack(0.195, 0.36, StackBottom::on_floor);
  StackField field = field_of(g, kMidStack, 4.0);
  stack_oracle::VaryingRoom oracle{brick_of(g, kMidStack), 4.0};
  double air = 18.0;
  double elapsed = 0.0;
  for (int i = 0; i < 120; ++i) {
    const double seconds = 10.0 + static_cast<double>(random() % 5000);
    const double next = air + 0.5 - static_cast<double>(random() % 100) / 100.0;
    field.step(Micros{std::llround(seconds * 1e6)}, Celsius{air}, Celsius{next});
    oracle.advance(seconds, air, next);
    air = next;
    elapsed += seconds;
    if (elapsed > 3600.0) {
      REQUIRE(field.coldest_when_warming().value() == Approx(oracle.centre_celsius()).margin(0.05));
    }
  }
}

TEST_CASE("MeanFollowsTheSeriesWithinATenth") {
  // The mean feels the coarse cells at the ends of the length, which the core does not.
  for (const StackBottom bottom : {StackBottom::on_battens, StackBottom::on_floor}) {
    const StackGeometry g = stack(0.39, 0.36, bottom);
    StackField field = field_of(g, kMidStack, 2.0);
    for (int day = 1; day <= 4; ++day) {
      field.step(hours(24.0), Celsius{20.0}, Celsius{20.0});
      const double exact =
          20.0 - 18.0 * stack_oracle::mean_share(brick_of(g, kMidStack), 86400.0 * day);
      CHECK(field.mean().value() == Approx(exact).margin(0.1));
      CHECK(field.coldest_when_warming() < field.mean());
    }
  }
}

TEST_CASE("NothingMovesInARoomAtTheTemperatureOfTheStack") {
  StackField field = field_of(stack(0.39, 0.36, StackBottom::on_floor), kMidStack, 11.0);
  field.step(hours(100.0), Celsius{11.0}, Celsius{11.0});
  CHECK(field.mean().value() == Approx(11.0).margin(1e-12));
  CHECK(field.coldest_when_warming().value() == Approx(11.0).margin(1e-12));
}

TEST_CASE("CoreNeverLeavesTheRangeOfStartAndPastAir") {
  // The propagator is L-stable, not positive: a ripple of 1e-3 of the range is what it may show.
  const unsigned seed = 20240612;
  CAPTURE(seed);
  std::mt19937 random{seed};
  const auto between = [&](double low, double high) {
    return std::uniform_real_distribution<double>{low, high}(random);
  };
  for (int run = 0; run < 60; ++run) {
    const StackGeometry g{Metres{between(0.05, 3.0)}, Metres{between(0.05, 1.5)},
                          Metres{between(0.05, 1.5)},
                          run % 2 == 0 ? StackBottom::on_floor : StackBottom::on_battens};
    double low = between(-10.0, 30.0);
    double high = low;
    StackField field = field_of(g, run % 3 == 0 ? kFastStack : kSlowStack, low);
    for (int i = 0; i < 40; ++i) {
      const double from = between(-10.0, 30.0);
      const double to = from + between(-2.0, 2.0);
      low = std::min({low, from, to});
      high = std::max({high, from, to});
      field.step(Micros{1'000'000 + static_cast<std::int64_t>(random() % 7'200'000'000)},
                 Celsius{from}, Celsius{to});
      const double slack = 1e-3 * (high - low);
      CAPTURE(run, i, g.length.value(), g.width.value(), g.height.value());
      REQUIRE(field.coldest_when_warming().value() > low - slack);
      REQUIRE(field.coldest_when_warming().value() < high + slack);
      REQUIRE(field.mean().value() > low - slack);
      REQUIRE(field.mean().value() < high + slack);
    }
  }
}

TEST_CASE("WarmerAirNeverLeavesAColderCore") {
  const StackGeometry g = stack(0.39, 0.36, StackBottom::on_floor);
  StackField cool = field_of(g, kMidStack, 2.0);
  StackField warm = field_of(g, kMidStack, 2.0);
  for (int i = 0; i < 96 * 3; ++i) {
    const double air = 17.0 + 4.0 * std::sin(i / 15.0);
    cool.step(kQuarter, Celsius{air}, Celsius{air});
    warm.step(kQuarter, Celsius{air + 1.0}, Celsius{air + 1.0});
    REQUIRE(warm.coldest_when_warming().value() > cool.coldest_when_warming().value() - 1e-6);
  }
  CHECK(warm.coldest_when_warming().value() > cool.coldest_when_warming().value() + 0.5);
}

TEST_CASE("LargerOrSlowerStacksTakeLonger") {
  double before = 0.0;
  for (const double width : {0.195, 0.25, 0.30, 0.39, 0.50}) {
    const double now = warm_hours(stack(width, 0.54, StackBottom::on_floor), kMidStack);
    CHECK(now > before);
    before = now;
  }
  const StackGeometry g = stack(0.30, 0.36, StackBottom::on_floor);
  const StackMaterial between = material_between(kMidStack, kSlowStack);
  CHECK(warm_hours(g, kFastStack) < warm_hours(g, kMidStack));
  CHECK(warm_hours(g, kMidStack) < warm_hours(g, between));
  CHECK(warm_hours(g, between) < warm_hours(g, kSlowStack));
  CHECK(warm_hours(stack(0.30, 0.36, StackBottom::on_battens), kMidStack) <
        warm_hours(g, kMidStack));
}

TEST_CASE("ADifferenceDiesAwayAtLastWithTheSlowestTimeConstant") {
  for (const StackBottom bottom : {StackBottom::on_battens, StackBottom::on_floor}) {
    const StackGeometry g = stack(0.30, 0.36, bottom);
    const Brick brick = brick_of(g, kMidStack);
    const double tau =
        static_cast<double>(slowest_time_constant(g, kMidStack).value().count()) / 1e6;
    // Late in the series one mode is left, so that the share falls to 1/e in one time constant.
    const double late = 40.0 * tau;
    CHECK(stack_oracle::centre_share(brick, late) / stack_oracle::centre_share(brick, late + tau) ==
          Approx(std::exp(1.0)).epsilon(1e-6));
  }
}

TEST_CASE("MaterialBetweenIsTheGeometricMeanOfEveryProperty") {
  const StackMaterial m = material_between({1.0, 2.0, 3.0, 4.0, 5.0}, {4.0, 8.0, 27.0, 16.0, 20.0});
  CHECK(m.conductivity_in_plane_w_per_m_k == Approx(2.0));
  CHECK(m.conductivity_across_w_per_m_k == Approx(4.0));
  CHECK(m.density_kg_per_m3 == Approx(9.0));
  CHECK(m.heat_capacity_j_per_kg_k == Approx(8.0));
  CHECK(m.film_w_per_m2_k == Approx(10.0));
}

TEST_CASE("NotWithinTheHorizonIsNoTime") {
  const StackField field = field_of(stack(0.78, 0.90, StackBottom::on_floor), kMidStack, 2.0);
  CHECK_FALSE(time_until_within(field, Celsius{20.0}, KelvinDelta{1.0}, hours(500.0)).has_value());
  const auto found = time_until_within(field, Celsius{20.0}, KelvinDelta{1.0}, hours(530.0));
  REQUIRE(found.has_value());
  CHECK(time_until_within(field, Celsius{20.0}, KelvinDelta{1.0}, *found) == found);
  CHECK_FALSE(
      time_until_within(field, Celsius{20.0}, KelvinDelta{1.0}, *found - Micros{1}).has_value());
}

TEST_CASE("OutsideTheDomainOfAStackIsAnError") {
  const StackGeometry good = stack(0.30, 0.36, StackBottom::on_floor);
  const auto error_of = [](const StackGeometry& g, const StackMaterial& m, double t) {
    const auto made = StackField::start(g, m, Celsius{t});
    REQUIRE_FALSE(made.has_value());
    return made.error();
  };
  const double nan = std::numeric_limits<double>::quiet_NaN();
  for (const double length : {0.0, -1.0, 0.049, 3.01, nan}) {
    CHECK(error_of(stack(length, 0.36, good.bottom), kMidStack, 2.0) ==
          DomainError::length_out_of_domain);
    CHECK(error_of(stack(0.30, length, good.bottom), kMidStack, 2.0) ==
          DomainError::length_out_of_domain);
    StackGeometry g = good;
    g.length = Metres{length};
    CHECK(error_of(g, kMidStack, 2.0) == DomainError::length_out_of_domain);
    CHECK(slowest_time_constant(g, kMidStack).error() == DomainError::length_out_of_domain);
  }
  for (const double t : {-61.0, 81.0, nan}) {
    CHECK(error_of(good, kMidStack, t) == DomainError::temperature_out_of_domain);
  }
  for (double StackMaterial::*property :
       {&StackMaterial::conductivity_in_plane_w_per_m_k,
        &StackMaterial::conductivity_across_w_per_m_k, &StackMaterial::density_kg_per_m3,
        &StackMaterial::heat_capacity_j_per_kg_k, &StackMaterial::film_w_per_m2_k}) {
    for (const double factor : {0.0, 0.04, 21.0, nan}) {
      StackMaterial m = kMidStack;
      m.*property *= factor;
      CHECK(error_of(good, m, 2.0) == DomainError::material_out_of_domain);
    }
  }
  CHECK(StackField::start(stack(0.05, 3.0, StackBottom::on_floor), kFastStack, Celsius{-60.0}));
}
