// Expected figures counted by hand; no outside source.
#include "analysis/readiness/channel_window.hpp"

#include <catch2/catch.hpp>
#include <cmath>

using namespace analysis::readiness;
using analysis::base::Series;

namespace {

UtcMicros minute(double minutes) { return UtcMicros{std::llround(minutes * 60e6)}; }
Micros length(double minutes) { return Micros{std::llround(minutes * 60e6)}; }

Series series(std::initializer_list<std::pair<double, double>> points) {
  Series made;
  for (const auto& [at, value] : points) {
    made.points.push_back({minute(at), value});
  }
  return made;
}

}  // namespace

TEST_CASE("TheMeanIsWeightedByTimeNotByReadings") {
  const auto values = window_values_from(series({{0, 10}, {1, 10}, {2, 10}, {3, 10}, {33, 20}}),
                                         {minute(0), minute(33)}, length(45));
  // 3 min at 10 and 30 min rising from 10 to 20.
  CHECK(values.value().mean == Approx((3.0 * 10.0 + 30.0 * 15.0) / 33.0));
  CHECK(values.value().lowest == 10.0);
  CHECK(values.value().covered == length(33));
}

TEST_CASE("LinesAreCutAtTheEdgesOfTheRange") {
  const auto values =
      window_values_from(series({{0, 0}, {20, 20}, {40, 0}}), {minute(10), minute(30)}, length(45));
  CHECK(values.value().mean == Approx(15.0));
  CHECK(values.value().lowest == Approx(10.0));
  CHECK(values.value().covered == length(20));
}

TEST_CASE("IntervalsBeyondTheLongestCoverNothing") {
  const auto values = window_values_from(series({{0, 10}, {10, 10}, {60, 90}, {70, 90}}),
                                         {minute(0), minute(70)}, length(45));
  CHECK(values.value().covered == length(20));
  CHECK(values.value().mean == Approx(50.0));
}

TEST_CASE("WithoutCoveredTimeThereIsNoValue") {
  CHECK_FALSE(window_values_from({}, {minute(0), minute(10)}, length(45)));
  CHECK_FALSE(window_values_from(series({{5, 1}}), {minute(0), minute(10)}, length(45)));
  CHECK_FALSE(window_values_from(series({{0, 1}, {5, 1}}), {minute(5), minute(10)}, length(45)));
  CHECK_FALSE(window_values_from(series({{20, 1}, {25, 1}}), {minute(5), minute(10)}, length(45)));
  CHECK_FALSE(window_values_from(series({{0, 1}, {50, 1}}), {minute(5), minute(10)}, length(45)));
}

TEST_CASE("ReadingsLaterThanNowAreNotLookedAt") {
  ChannelEvidence channel;
  channel.recent = series({{0, 10}, {30, 10}, {60, 10}, {90, 70}});
  channel.last_good = channel.recent.points.back();
  const auto values = recent_values_from(channel, minute(60), length(60), length(45));
  CHECK(values.value().mean == 10.0);
}
