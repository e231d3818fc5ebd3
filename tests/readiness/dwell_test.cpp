// The worked examples of docs/dwell-accounting.md, counted by hand (minutes), and the edges between
// them. The examples come from the project's model notes, section C; they have no outside source.
#include "analysis/readiness/dwell.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <random>

using namespace analysis::readiness;
using analysis::base::micros_from_hours;

namespace {

UtcMicros minute(double minutes) { return UtcMicros{std::llround(minutes * 60e6)}; }
double minutes_of(UtcMicros at) { return static_cast<double>(at.value) / 60e6; }

DwellSample sample(double minutes, double celsius = 20.0, double percent_rh = 50.0) {
  return {minute(minutes), Celsius{celsius}, analysis::base::rh_from_percent(percent_rh)};
}

// A log being written down, with the resets it caused.
struct Log {
  explicit Log(DwellPolicy policy = {}) : account(policy) {}
  Log& add(const DwellSample& s) {
    for (const DwellReset& reset : account.add(s)) {
      resets.push_back(reset);
    }
    return *this;
  }
  Log& add(double minutes, double celsius) { return add(sample(minutes, celsius)); }
  // In-band readings from..to, one every 15 min, and one at `to`.
  Log& ok(double from, double to) {
    for (double m = from; m < to; m += 15.0) {
      add(sample(m));
    }
    return add(sample(to));
  }
  [[nodiscard]] double hours() const { return account.state().in_band_seconds / 3600.0; }
  [[nodiscard]] double out_hours() const { return account.state().total_out_seconds / 3600.0; }
  [[nodiscard]] double unknown_hours() const {
    return account.state().total_unknown_seconds / 3600.0;
  }
  [[nodiscard]] double done_hours() const {
    return minutes_of(account.state().done_at.value()) / 60.0;
  }

  DwellAccount account;
  std::vector<DwellReset> resets;
};

Approx close_to(double expected) { return Approx(expected).margin(1e-6).epsilon(0.0); }

}  // namespace

TEST_CASE("Example1ConstantClimateIsDoneAfterTheRequiredHours") {
  Log log;
  log.ok(0, 3000);
  CHECK(log.hours() == 50.0);
  CHECK(log.done_hours() == 48.0);
  CHECK(log.account.enough());
  CHECK_FALSE(log.account.lapsed());
  CHECK(log.resets.empty());
}

TEST_CASE("Example2TimeCountsFromTheReadingThatReachesTheLimit") {
  Log log;
  log.add(0, 15).add(30, 17).add(60, 19).ok(75, 1260);
  CHECK(log.hours() == close_to(20.5));
  CHECK(log.out_hours() == close_to(0.5));
}

TEST_CASE("Example2bTimeCountsFromTheCrossingBetweenReadings") {
  Log log;
  log.add(0, 15).add(30, 18).ok(60, 1260);
  CHECK(log.hours() == close_to(20.666667));
  CHECK(minutes_of(log.account.state().run_started_at.value()) == close_to(20.0));
}

TEST_CASE("Example3AnExcursionWithinTheGraceNeitherCountsNorResets") {
  Log log;
  log.ok(0, 600).add(605, 15).add(610, 15).add(615, 20).ok(630, 3600);
  CHECK(log.out_hours() * 60.0 == close_to(9.0));
  CHECK(log.hours() == close_to(59.85));
  CHECK(log.done_hours() == close_to(48.15));
  CHECK(log.resets.empty());
  CHECK(log.account.state().excursion_sum_seconds == close_to(540.0));
}

TEST_CASE("Example4AnExcursionBeyondTheGraceResetsAtItsStartPlusTheGrace") {
  Log log;
  log.ok(0, 600).add(605, 14).add(640, 14).add(645, 20).ok(660, 3600);
  CHECK(log.out_hours() * 60.0 == close_to(40.0));
  REQUIRE(log.resets.size() == 1);
  CHECK(minutes_of(log.resets[0].at) == close_to(617.5));
  CHECK(log.resets[0].reason == ResetReason::excursion);
  CHECK(log.resets[0].lost_seconds == close_to(602.5 * 60.0));
  CHECK(log.hours() == close_to(49.291667));
  CHECK(log.done_hours() == close_to(58.708333));
}

TEST_CASE("Example5UnknownTimeNeverCounts") {
  Log log;
  log.ok(0, 600).ok(780, 3600);
  CHECK(log.unknown_hours() == 3.0);
  CHECK(log.hours() == 57.0);
  CHECK(log.done_hours() == 51.0);
}

TEST_CASE("Example6TooMuchUnknownTimeResets") {
  Log log;
  log.ok(0, 600).ok(900, 3600);
  CHECK(log.unknown_hours() == 5.0);
  CHECK(log.hours() == 45.0);
  CHECK_FALSE(log.account.state().done_at.has_value());
  REQUIRE(log.resets.size() == 1);
  CHECK(log.resets[0].reason == ResetReason::unknown);
  CHECK(minutes_of(log.resets[0].at) == 840.0);  // 600 + 4 h
}

TEST_CASE("Example7AnIntervalAsLongAsTheLongestAllowedStillCounts") {
  Log log;
  log.ok(0, 600).ok(645, 690).ok(736, 1000);
  CHECK(log.hours() == close_to(15.9));
  CHECK(log.unknown_hours() == close_to(0.766667));
}

TEST_CASE("Example8TimeCountsWhereBothChannelsAreInTheirBand") {
  Log log;
  log.add(sample(0, 16, 64)).add(sample(30, 20, 56)).add(sample(60, 24, 40));
  CHECK(log.hours() == close_to(0.593750));
  CHECK(minutes_of(log.account.state().run_started_at.value()) == close_to(15.0));
  CHECK(log.out_hours() * 60.0 == close_to(15.0 + 9.375));
}

TEST_CASE("Example9ShortExcursionsUseUpTheBudgetOfTheRun") {
  Log log;
  for (int k = 0; k < 8; ++k) {
    log.ok(120 * k, 120 * k + 105).add(120 * k + 106, 10).add(120 * k + 114, 10);
  }
  log.ok(960, 1200);
  REQUIRE(log.resets.size() == 1);
  CHECK(log.resets[0].reason == ResetReason::excursion_budget);
  // Four excursions of 12.9 min leave 8.4 min; the fifth starts at minute 585.3.
  CHECK(minutes_of(log.resets[0].at) == close_to(593.7));
  CHECK(log.hours() == close_to(9.385));
}

TEST_CASE("Example10CumulativeCountingNeverResets") {
  DwellPolicy policy;
  policy.cumulative = true;
  Log log(policy);
  log.ok(0, 600).add(605, 14).add(700, 14).add(705, 20).ok(720, 3600);
  CHECK(log.unknown_hours() * 60.0 == close_to(95.0));
  CHECK(log.out_hours() * 60.0 == close_to(5.0));
  CHECK(log.hours() == close_to(58.333333));
  CHECK(log.done_hours() == close_to(49.666667));
  CHECK(log.resets.empty());
}

TEST_CASE("AnExcursionOfExactlyTheGraceDoesNotReset") {
  // 17 deg C is crossed at minutes 15.25 and 30.25, instants no double holds exactly in seconds.
  Log log;
  log.add(0, 20).add(15, 17.1).add(16, 16.7).add(29, 16.5).add(34, 18.5).add(45, 20);
  CHECK(log.out_hours() * 60.0 == close_to(15.0));
  CHECK(log.resets.empty());
  Log longer;
  longer.add(0, 20).add(15, 17.1).add(16, 16.7).add(29, 16.499).add(34, 18.5).add(45, 20);
  CHECK(longer.resets.size() == 1);
}

TEST_CASE("UnknownTimeBetweenTwoTimesOutOfBandIsPartOfTheExcursion") {
  Log log;
  log.ok(0, 600).add(605, 14).add(700, 14).add(705, 20).ok(720, 900);
  CHECK(log.unknown_hours() * 60.0 == close_to(95.0));
  CHECK(log.out_hours() * 60.0 == close_to(5.0));
  REQUIRE(log.resets.size() == 1);
  CHECK(minutes_of(log.resets[0].at) == close_to(602.5 + 15.0));
}

TEST_CASE("UnknownTimeAfterAnExcursionIsNotChargedToIt") {
  Log log;
  log.ok(0, 600).add(605, 14).ok(700, 900);
  CHECK(log.resets.empty());
  CHECK(log.account.state().excursion_sum_seconds == close_to(150.0));
  CHECK(log.unknown_hours() * 60.0 == close_to(95.0));
}

TEST_CASE("AnExcursionThatBeganBeforeTheRunIsNotChargedToIt") {
  Log log;
  log.add(0, 10).add(40, 10).add(45, 20).ok(60, 600);
  CHECK(log.resets.empty());
  CHECK(log.account.state().excursion_sum_seconds == 0.0);
}

TEST_CASE("TouchingTheBandForAnInstantDoesNotEndAnExcursion") {
  Log log;
  log.ok(0, 600).add(605, 14).add(612, 17).add(619, 14).add(625, 20);
  REQUIRE(log.resets.size() == 1);
  CHECK(minutes_of(log.resets[0].at) == close_to(617.5));
  // Temperature enters at the very instant at which humidity leaves: a touch too.
  Log crossing;
  crossing.add(sample(0, 16, 57)).add(sample(40, 20, 69));
  CHECK(crossing.hours() == 0.0);
  CHECK(crossing.out_hours() * 60.0 == close_to(40.0));
}

TEST_CASE("AMissingChannelMakesBothIntervalsBesideItUnknown") {
  for (const bool temperature_missing : {true, false}) {
    Log log;
    DwellSample half = sample(30);
    if (temperature_missing) {
      half.temperature.reset();
    } else {
      half.rh.reset();
    }
    log.ok(0, 15).add(half).ok(45, 60);
    CHECK(log.hours() == 0.5);
    CHECK(log.unknown_hours() == 0.5);
  }
}

TEST_CASE("AValueThatIsNotFiniteCountsAsMissing") {
  for (const double bad :
       {std::numeric_limits<double>::quiet_NaN(), std::numeric_limits<double>::infinity()}) {
    Log log;
    log.ok(0, 15).add(sample(30, bad)).ok(45, 60);
    CHECK(log.unknown_hours() == 0.5);
    CHECK(log.hours() == 0.5);
  }
}

TEST_CASE("LateAndRepeatedReadingsAreCountedAndChangeNothingElse") {
  Log log;
  log.ok(0, 60);
  DwellState before = log.account.state();
  log.add(sample(60, 5)).add(sample(30, 5));
  before.rejected = 2;
  CHECK(log.account.state() == before);
}

TEST_CASE("TheFirstCompletionStaysAndALaterResetLapsesIt") {
  Log log;
  log.ok(0, 3000).add(3005, 10).add(3040, 10).add(3045, 20).ok(3060, 3120);
  CHECK(log.done_hours() == 48.0);
  CHECK(log.account.lapsed());
  CHECK_FALSE(log.account.enough());
  log.ok(3135, 6400);
  CHECK(log.done_hours() == 48.0);
  CHECK_FALSE(log.account.lapsed());
}

TEST_CASE("CountingTellsWhetherTheNewestIntervalEndedInBand") {
  Log log;
  log.add(0, 20);
  CHECK_FALSE(log.account.state().counting);  // one reading is no interval
  log.add(15, 20);
  CHECK(log.account.state().counting);
  log.add(30, 30);
  CHECK_FALSE(log.account.state().counting);
  log.add(45, 20);
  CHECK(log.account.state().counting);
  log.add(120, 20);
  CHECK_FALSE(log.account.state().counting);
}

TEST_CASE("ExtremesOfTheRunAreThoseOfTheTimeThatCounted") {
  Log log;
  log.add(sample(0, 15, 40))
      .add(sample(30, 19, 52))
      .add(sample(45, 21, 58))
      .add(sample(60, 20, 50));
  const DwellState& state = log.account.state();
  CHECK(state.run_temperature_min.value().value() == close_to(17.0));
  CHECK(state.run_temperature_max.value().value() == 21.0);
  // 45 %RH is passed at minute 12.5, 17 deg C at minute 15, where the humidity is 46 %.
  CHECK(state.run_rh_min.value().value() == close_to(0.46));
  CHECK(state.run_rh_max.value().value() == 0.58);
  log.add(75, 30).add(120, 30);
  CHECK_FALSE(log.account.state().run_temperature_min.has_value());
  CHECK_FALSE(log.account.state().run_started_at.has_value());
}

TEST_CASE("RecentExtremesForgetAStartAtTheLimitAfterTheRequiredHours") {
  Log log;
  log.add(0, 15).add(30, 19);  // passes 17 deg C at minute 15
  const auto lowest = [&log] {
    return log.account.state().recent.extremes().value().temperature_min.value();
  };
  CHECK_FALSE(Log().account.state().recent.extremes());
  log.ok(45, 2880);
  CHECK(log.hours() == close_to(47.75));
  CHECK(lowest() == close_to(17.0));
  log.ok(2895, 3120);
  CHECK(log.hours() == close_to(51.75));
  CHECK(lowest() == close_to(17.0));  // four hours more than required at most
  log.ok(3135, 3165);
  CHECK(log.hours() == close_to(52.5));
  CHECK(lowest() == 20.0);
  SECTION("a reset forgets all") {
    log.add(3170, 30).add(3200, 30);
    CHECK_FALSE(log.account.state().recent.extremes());
  }
  SECTION("a late excursion within the grace counts with its limit") {
    log.add(3170, 24).add(3175, 20);
    CHECK(log.account.state().recent.extremes().value().temperature_max.value() == close_to(23.0));
  }
}

TEST_CASE("NothingRecordedIsNeverEnough") {
  const DwellAccount account{DwellPolicy{}};
  CHECK_FALSE(account.enough());
  CHECK_FALSE(account.lapsed());
}

TEST_CASE("AYearOfReadingsAddsUpToItsSpan") {
  const unsigned seed = 20;
  INFO("seed " << seed);
  std::mt19937 random(seed);
  std::uniform_int_distribution<std::int64_t> jitter(59'000'003, 60'999'991);
  std::normal_distribution<double> step(0.0, 0.4);
  DwellPolicy policy;
  DwellAccount account(policy);
  double celsius = 20.0;
  double percent = 52.0;
  DwellSample s{UtcMicros{1'700'000'000'000'001}, {}, {}};
  const UtcMicros first = s.at;
  constexpr int kReadings = 525'600;
  for (int i = 0; i < kReadings; ++i) {
    celsius += 0.05 * (20.0 - celsius) + step(random);
    percent += 0.05 * (52.0 - percent) + 4.0 * step(random);
    s.temperature = Celsius{celsius};
    s.rh = analysis::base::rh_from_percent(percent);
    account.add(s);
    s.at = s.at + Micros{jitter(random)};
  }
  const DwellState& state = account.state();
  const double span = static_cast<double>((state.previous->at - first).count()) / 1e6;
  const double sum = state.total_in_seconds + state.total_out_seconds + state.total_unknown_seconds;
  CHECK(std::abs(sum - span) < 1e-6);
  CHECK(state.total_out_seconds > 0.1 * span);
  CHECK(state.resets > 100);
}
