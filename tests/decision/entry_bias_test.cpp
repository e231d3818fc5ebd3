// How wrong the expected entry into the band is in simulated rooms that near a set point. The
// figures stand in docs/physics-and-sources.md.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <optional>
#include <random>
#include <vector>

#include "tests/decision/logged_room.hpp"

using namespace analysis::readiness;
using namespace analysis::readiness::room;
using logged_room::hours_since_start;
using logged_room::LoggedRoom;

namespace {

// One channel nears its set point with one time constant and noise; the other stays in band.
struct Approach {
  double time_constant_hours;
  double start;
  double set_point;
  double edge;
  double noise;
  double step_minutes;
  bool is_rh = false;

  [[nodiscard]] double value(double hours) const {
    return set_point - (set_point - start) * std::exp(-hours / time_constant_hours);
  }
  // When the edge is crossed; infinite where the set point lies before it.
  [[nodiscard]] double entry_hours() const {
    const double ratio = (set_point - start) / (set_point - edge);
    return ratio > 1.0 ? time_constant_hours * std::log(ratio) : HUGE_VAL;
  }
  [[nodiscard]] std::optional<ExpectedTime> entry_asked_at(double now, std::mt19937& random) const {
    std::normal_distribution<double> error(0.0, noise);
    LoggedRoom room;
    const double step = step_minutes / 60.0;
    for (int i = static_cast<int>(std::min(now, 3.5) / step); i >= 0; --i) {
      const double at = now - i * step;
      const double seen = value(at) + error(random);
      room.log(at, is_rh ? 20.0 : seen, is_rh ? seen : 0.50);
    }
    const auto expected = room.expected(now);
    return expected ? expected.value().enters_band_at : std::nullopt;
  }
};

Approach warming(double time_constant_hours, double set_point_celsius, double step_minutes) {
  return {time_constant_hours, 10.0, set_point_celsius, 17.0, 0.1, step_minutes};
}
Approach drying(double time_constant_hours, double start_rh, double set_point_rh) {
  return {time_constant_hours, start_rh, set_point_rh, 0.60, 0.005, 10.0, true};
}

// Expected wait as a share of the true one, for each answer: 1 is right, less is too early.
struct WaitShares {
  std::vector<double> early, likely, late;

  void add(const Approach& approach, double now, const ExpectedTime& entry) {
    const double wait = approach.entry_hours() - now;
    early.push_back((hours_since_start(entry.early) - now) / wait);
    likely.push_back((hours_since_start(entry.likely) - now) / wait);
    late.push_back((hours_since_start(entry.late) - now) / wait);
  }
  void add(const WaitShares& other) {
    early.insert(early.end(), other.early.begin(), other.early.end());
    likely.insert(likely.end(), other.likely.begin(), other.likely.end());
    late.insert(late.end(), other.late.begin(), other.late.end());
  }
};

double median_of(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

double rate_of(const std::vector<double>& values, const std::function<bool(double)>& holds) {
  return static_cast<double>(std::count_if(values.begin(), values.end(), holds)) /
         static_cast<double>(values.size());
}
double rate_not_after(const std::vector<double>& shares) {
  return rate_of(shares, [](double share) { return share <= 1.0; });
}
double rate_not_before(const std::vector<double>& shares) {
  return rate_of(shares, [](double share) { return share >= 1.0; });
}

// Asked every half hour from two hours on until one hour before the true entry, ten times over.
WaitShares shares_of(const Approach& approach, std::mt19937& random) {
  WaitShares shares;
  for (int repeat = 0; repeat < 10; ++repeat) {
    for (double now = 2.0; now < std::min(approach.entry_hours() - 1.0, 30.0); now += 0.5) {
      if (const auto entry = approach.entry_asked_at(now, random)) {
        shares.add(approach, now, *entry);
      }
    }
  }
  return shares;
}

}  // namespace

TEST_CASE("LineIsEarlyOnAnExponentialByTheStatedShare") {
  constexpr unsigned kSeed = 1800;
  std::mt19937 random(kSeed);
  INFO("seed " << kSeed);
  struct Row {
    double time_constant, set_point, early_share;
  };
  const Row rows[] = {{3, 18, 0.33},  {3, 20, 0.44},  {6, 18, 0.46},  {6, 20, 0.58},
                      {6, 24, 0.66},  {12, 18, 0.53}, {12, 20, 0.65}, {12, 24, 0.74},
                      {24, 18, 0.48}, {24, 20, 0.69}, {24, 24, 0.79}};
  WaitShares all;
  for (const Row& row : rows) {
    for (const double step : {5.0, 15.0}) {
      const WaitShares s = shares_of(warming(row.time_constant, row.set_point, step), random);
      INFO(row.time_constant << " h, " << row.set_point << " deg C, " << step << " min");
      CHECK(median_of(s.early) == Approx(row.early_share).margin(0.06));
      all.add(s);
    }
  }
  CHECK(median_of(all.early) == Approx(0.60).margin(0.03));
  CHECK(median_of(all.likely) == Approx(0.97).margin(0.05));
  CHECK(rate_not_after(all.early) > 0.94);
  CHECK(rate_not_before(all.late) > 0.96);
}

TEST_CASE("RangeHoldsTheEntryOfRoomsItWasNotChosenFor") {
  constexpr unsigned kSeed = 4181;
  std::mt19937 random(kSeed);
  INFO("seed " << kSeed);
  WaitShares all;
  for (const double time_constant : {4.0, 9.0, 18.0}) {
    all.add(shares_of(warming(time_constant, 19.0, 10.0), random));
    all.add(shares_of(warming(time_constant, 22.0, 30.0), random));
    all.add(shares_of(drying(time_constant, 0.85, 0.50), random));
    all.add(shares_of(drying(time_constant, 0.75, 0.57), random));
  }
  CAPTURE(all.early.size(), median_of(all.early), rate_not_after(all.early),
          rate_not_before(all.late));
  CHECK(median_of(all.likely) == Approx(0.97).margin(0.06));
  CHECK(rate_not_after(all.early) > 0.92);
  CHECK(rate_not_before(all.late) > 0.96);
}

TEST_CASE("SetPointOutsideTheBandGetsAnEntryUntilTheTrendIsFlat") {
  // What a line can't know; stated in the documentation. Once settled, chance alone gives answers.
  constexpr unsigned kSeed = 1600;
  std::mt19937 random(kSeed);
  INFO("seed " << kSeed);
  const auto answers = [&](const Approach& approach, double from, double to) {
    int count = 0;
    for (double now = from; now < to; now += 0.1) {
      count += approach.entry_asked_at(now, random) ? 1 : 0;
    }
    return count;
  };
  CHECK(answers(warming(3.0, 16.0, 15.0), 2.0, 8.0) > 50);
  const int settled = answers(warming(3.0, 16.0, 15.0), 24.0, 48.0);
  CHECK(settled < 24);
}
