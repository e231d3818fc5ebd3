#include "analysis/readiness/room/robust_trend.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <random>
#include <vector>

#include "tests/decision/logged_room.hpp"

using namespace analysis::readiness::room;
using analysis::base::SeriesPoint;
using logged_room::Curve;
using logged_room::hour;
using logged_room::kQuarter;
using logged_room::line;

namespace {

std::vector<SeriesPoint> points_on(const Curve& curve, int count, double step_hours) {
  std::vector<SeriesPoint> points;
  for (int i = 0; i < count; ++i) {
    points.push_back({hour(i * step_hours), curve(i * step_hours)});
  }
  return points;
}

}  // namespace

TEST_CASE("RobustTrendIsExactOnALine") {
  const auto trend = robust_trend_from(points_on(line(12.0, -0.75), 13, kQuarter)).value();
  CHECK(trend.per_hour == Approx(-0.75));
  CHECK(trend.per_hour_low == Approx(-0.75));
  CHECK(trend.per_hour_high == Approx(-0.75));
  CHECK(trend.value_at_newest == Approx(12.0 - 0.75 * 3.0));
  CHECK(trend.points_used == 13);
  CHECK(trend.rises_or_falls());
}

TEST_CASE("RobustTrendIsTheMedianOfPairSlopes") {
  // By hand: 0, 1, 5, 3 at 0, 1, 2, 3 h; slopes 1, 2.5, 1, 4, 1, -2, sorted -2 1 1 1 2.5 4.
  const std::vector<SeriesPoint> points{{hour(0), 0}, {hour(1), 1}, {hour(2), 5}, {hour(3), 3}};
  const auto trend = robust_trend_from(points).value();
  CHECK(trend.per_hour == Approx(1.0));
  // Left over at 3 h: 3, 3, 6, 3.
  CHECK(trend.value_at_newest == Approx(3.0));
  CHECK_FALSE(trend.rises_or_falls());
  CHECK_FALSE(robust_trend_from(std::span(points).first(3)).has_value());
}

TEST_CASE("RobustTrendIsUnmovedByTwentyNinePercentOfWildReadings") {
  constexpr unsigned kSeed = 29;
  std::mt19937 random(kSeed);
  INFO("seed " << kSeed);
  std::uniform_real_distribution<double> wild(-1000.0, 1000.0);
  for (const int count : {21, 35, 50}) {
    for (int trial = 0; trial < 200; ++trial) {
      auto points = points_on(line(10.0, 0.5), count, 0.06);
      std::vector<std::size_t> order(points.size());
      for (std::size_t i = 0; i < order.size(); ++i) {
        order[i] = i;
      }
      std::shuffle(order.begin(), order.end(), random);
      // As long as more than half of all pairs are good; for many points that is 29.3 %.
      const auto spoiled = static_cast<std::size_t>(0.28 * count);
      for (std::size_t i = 0; i < spoiled; ++i) {
        points[order[i]].value = wild(random);
      }
      const auto trend = robust_trend_from(points).value();
      REQUIRE(trend.per_hour == Approx(0.5).epsilon(1e-6));
      REQUIRE(trend.value_at_newest ==
              Approx(points_on(line(10.0, 0.5), count, 0.06).back().value));
    }
  }
  // Far beyond that it must move, or it would not be looking at the readings.
  auto ruined = points_on(line(10.0, 0.5), 50, 0.06);
  for (std::size_t i = 25; i < 50; ++i) {
    ruined[i].value = 900.0;
  }
  CHECK(robust_trend_from(ruined)->per_hour > 10.0);
}

TEST_CASE("RobustTrendThinsManyReadingsAndKeepsTheNewest") {
  auto points = points_on(line(0.0, 1.0), 2001, 0.001);
  const auto trend = robust_trend_from(points).value();
  CHECK(trend.points_used <= kMostTrendPoints);
  CHECK(trend.points_used > kMostTrendPoints / 2);
  CHECK(trend.value_at_newest == Approx(2.0));
  CHECK(robust_trend_from(points_on(line(0.0, 1.0), 50, 0.1))->points_used == 50);
}

TEST_CASE("SlopeIntervalHoldsTheTrueSlopeAtItsRate") {
  constexpr unsigned kSeed = 90;
  std::mt19937 random(kSeed);
  INFO("seed " << kSeed);
  std::normal_distribution<double> noise(0.0, 0.1);
  constexpr int kTrials = 3000;
  for (const int count : {7, 13, 36}) {
    int held = 0;
    for (int trial = 0; trial < kTrials; ++trial) {
      const auto trend = robust_trend_from(points_on(
          [&](double hours) { return 12.0 + 0.3 * hours + noise(random); }, count, 3.0 / count));
      held += trend->per_hour_low <= 0.3 && trend->per_hour_high >= 0.3 ? 1 : 0;
    }
    const double rate = static_cast<double>(held) / kTrials;
    INFO(count << " points, rate " << rate);
    CHECK(rate > 0.88);
    CHECK(rate < 0.96);
  }
}
