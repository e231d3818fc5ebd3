// Expected figures counted by hand; no outside source.
#include "analysis/readiness/excursion_log.hpp"

#include <catch2/catch.hpp>
#include <cmath>

using namespace analysis::readiness;
using analysis::base::ChannelRole;
using analysis::base::TimeRange;

namespace {

UtcMicros minute(double minutes) { return UtcMicros{std::llround(minutes * 60e6)}; }
TimeRange minutes(double from, double to) { return {minute(from), minute(to)}; }
DwellSample sample(double at, std::optional<double> celsius, std::optional<double> percent = 50.0) {
  DwellSample s{minute(at), {}, {}};
  if (celsius) {
    s.temperature = Celsius{*celsius};
  }
  if (percent) {
    s.rh = analysis::base::rh_from_percent(*percent);
  }
  return s;
}
ExcursionLog make_log() { return {ClimateBand{}, analysis::base::micros_from_hours(0.75)}; }

}  // namespace

TEST_CASE("AnExcursionLastsFromCrossingToCrossing") {
  ExcursionLog log = make_log();
  log.add(sample(0, 20));
  log.add(sample(10, 15));  // 17 deg C at minute 6
  log.add(sample(20, 14));
  log.add(sample(30, 20));  // back at minute 25
  log.add(sample(40, 20));
  const std::vector<Excursion> expected{{minutes(6, 25), ChannelRole::room_air_temperature, 14.0}};
  CHECK(log.excursions() == expected);
  CHECK(log.excursions_total() == 1);
}

TEST_CASE("EachChannelHasItsOwnExcursions") {
  ExcursionLog log = make_log();
  log.add(sample(0, 20, 50));
  log.add(sample(10, 26, 70));
  log.add(sample(20, 20, 70));
  log.add(sample(30, 20, 50));
  const std::vector<Excursion> listed = log.excursions();
  REQUIRE(listed.size() == 2);
  CHECK(listed[0].range == minutes(5, 15));
  CHECK(listed[0].role == ChannelRole::room_air_temperature);
  CHECK(listed[0].worst == 26.0);
  CHECK(listed[1].range == minutes(5, 25));
  CHECK(listed[1].role == ChannelRole::room_air_rh);
  CHECK(listed[1].worst == Approx(70.0));
}

TEST_CASE("PassingThroughTheBandMakesTwoExcursions") {
  ExcursionLog log = make_log();
  log.add(sample(0, 15));
  log.add(sample(10, 25));  // in band from minute 2 to 8
  const std::vector<Excursion> expected{{minutes(0, 2), ChannelRole::room_air_temperature, 15.0},
                                        {minutes(8, 10), ChannelRole::room_air_temperature, 25.0}};
  CHECK(log.excursions() == expected);
}

TEST_CASE("TheLimitItselfIsNoExcursion") {
  ExcursionLog log = make_log();
  log.add(sample(0, 17, 45));
  log.add(sample(10, 23, 60));
  CHECK(log.excursions().empty());
  log.add(sample(20, 24, 60));
  CHECK(log.excursions() ==
        std::vector<Excursion>{{minutes(10, 20), ChannelRole::room_air_temperature, 24.0}});
}

TEST_CASE("NothingIsDrawnAcrossAGap") {
  ExcursionLog log = make_log();
  log.add(sample(0, 20));
  log.add(sample(10, 10));  // out since minute 3
  log.add(sample(100, 9));
  log.add(sample(110, 9));
  log.add(sample(120, std::nullopt));
  log.add(sample(130, 20));
  log.add(sample(140, 20));
  const std::vector<Excursion> expected{
      {minutes(3, 10), ChannelRole::room_air_temperature, 10.0},
      {minutes(100, 110), ChannelRole::room_air_temperature, 9.0}};
  CHECK(log.excursions() == expected);
  CHECK(log.unknown_time(minute(140)) ==
        std::vector<TimeRange>{minutes(10, 100), minutes(110, 130)});
  CHECK(log.unknown_time_total(minute(140)) == 2);
}

TEST_CASE("AMissingChannelLeavesTheOtherOneKnown") {
  ExcursionLog log = make_log();
  log.add(sample(0, 10, 50));
  log.add(sample(10, 10, std::nullopt));
  log.add(sample(20, 10, 50));
  CHECK(log.excursions() ==
        std::vector<Excursion>{{minutes(0, 20), ChannelRole::room_air_temperature, 10.0}});
  CHECK(log.unknown_time(minute(20)) == std::vector<TimeRange>{minutes(0, 20)});
}

TEST_CASE("TimeSinceTheNewestReadingBecomesUnknownWhenOverdue") {
  ExcursionLog log = make_log();
  CHECK(log.unknown_time(minute(1000)).empty());
  log.add(sample(0, 20));
  log.add(sample(10, 20));
  CHECK(log.unknown_time(minute(55)).empty());
  CHECK(log.unknown_time(minute(56)) == std::vector<TimeRange>{minutes(10, 56)});
  CHECK(log.unknown_time_total(minute(56)) == 1);
  log.add(sample(70, 20));
  CHECK(log.unknown_time(minute(130)) == std::vector<TimeRange>{minutes(10, 130)});
}

TEST_CASE("AReadingThatIsNotLaterChangesNothing") {
  ExcursionLog log = make_log();
  log.add(sample(0, 20));
  log.add(sample(10, 20));
  log.add(sample(10, 5));
  log.add(sample(5, 5));
  CHECK(log.excursions().empty());
}

TEST_CASE("TheLongestAreListedAndAllAreCounted") {
  ExcursionLog log = make_log();
  // Excursion k lasts 1 min plus k seconds at its top; the first ones are the shortest.
  for (int k = 0; k < 30; ++k) {
    const double start = 30.0 * k;
    log.add(sample(start, 20));
    log.add(sample(start + 1, 23));
    log.add(sample(start + 2, 24));
    log.add(sample(start + 2 + k / 60.0, 24));
    log.add(sample(start + 3 + k / 60.0, 23));
  }
  log.add(sample(900, 20));
  const std::vector<Excursion> listed = log.excursions();
  CHECK(log.excursions_total() == 30);
  REQUIRE(listed.size() == ExcursionLog::kMostListed);
  for (std::size_t i = 0; i < listed.size(); ++i) {
    CHECK(listed[i].range.from == minute(30.0 * static_cast<double>(i + 10) + 1));
  }
}
