#include "analysis/base/clock_map.hpp"

#include <catch2/catch.hpp>
#include <random>

using namespace analysis::base;

namespace {
constexpr UtcMicros kStart{1'772'434'800'000'000};  // 2026-03-02T07:00:00Z
constexpr UtcMicros kPlausible{1'700'000'000'000'000};

ClockExchange at(std::int64_t ticks_ms, std::int64_t utc_offset_ms, std::int64_t error_ms = 2) {
  return {ticks_ms, kStart + Micros{(ticks_ms + utc_offset_ms) * 1000}, Micros{error_ms * 1000}};
}
}  // namespace

TEST_CASE("WithoutAPlausibleExchangeTheTimeIsUnknown") {
  CHECK_FALSE(ClockMap({}, kPlausible).utc_from_ticks(5));
  const ClockExchange unset{1000, UtcMicros{3'000'000}, Micros{1000}};  // host still in 1970
  CHECK_FALSE(ClockMap(std::vector{unset}, kPlausible).utc_from_ticks(5));
  CHECK_FALSE(ClockMap(std::vector{unset}, kPlausible).ticks_from_utc(kStart));
}

TEST_CASE("RecordsBeforeTheFirstGoodExchangeAreDatedLater") {
  const ClockExchange unset{1000, UtcMicros{3'000'000}, Micros{1000}};
  const ClockMap map(std::vector{unset, at(3'600'000, 0)}, kPlausible);
  const auto dated = map.utc_from_ticks(0);
  REQUIRE(dated);
  CHECK(dated->at == kStart);
  CHECK(dated->error == Micros{2000 + 720'000});  // 200 ppm of an hour beside the exchange's own
  CHECK(map.steps().empty());
}

TEST_CASE("DriftBetweenExchangesIsInterpolated") {
  // The box runs 100 ppm slow: after a day of host time it shows 8.64 s less.
  const ClockMap map(std::vector{at(0, 0), at(86'391'360, 8'640)}, kPlausible);
  CHECK(map.steps().empty());
  CHECK(map.utc_from_ticks(86'391'360 / 2)->at.value ==
        Approx(static_cast<double>((kStart + micros_from_hours(12)).value)).epsilon(1e-15));
}

TEST_CASE("ALaterExchangeNeverMovesWhatIsBracketed") {
  std::vector<ClockExchange> exchanges{at(0, 0), at(300'000, 3), at(600'000, -2)};
  const auto before = ClockMap(exchanges, kPlausible).utc_from_ticks(450'000);
  exchanges.push_back(at(900'000, 9));
  CHECK(ClockMap(exchanges, kPlausible).utc_from_ticks(450'000) == before);
}

TEST_CASE("AStepOfTheHostClockIsReportedAndWidensTheErrorOfWhatCameBefore") {
  const ClockMap map(std::vector{at(0, 0), at(300'000, 0), at(600'000, -3'600'000)}, kPlausible);
  REQUIRE(map.steps().size() == 1);
  CHECK(map.steps()[0].ticks_ms == 600'000);
  CHECK(map.steps()[0].size == -micros_from_hours(1));
  CHECK(map.utc_from_ticks(0)->error >= micros_from_hours(1));
  CHECK(map.utc_from_ticks(600'000)->error == Micros{2000});
}

TEST_CASE("ANudgeBelowASecondIsNoStepButWidensTheError") {
  const ClockMap map(std::vector{at(0, 0), at(300'000, -400), at(600'000, -400)}, kPlausible);
  CHECK(map.steps().empty());
  CHECK(map.utc_from_ticks(0)->at == kStart);  // nothing before is dated anew
  CHECK(map.utc_from_ticks(300'000)->error >= Micros{400'000});
  CHECK(map.utc_from_ticks(200'000)->error >= Micros{400'000});
}

TEST_CASE("DatesNeverRunBackwardsWhateverTheHostClockDid") {
  const unsigned seed = 7;
  INFO("seed " << seed);
  std::mt19937 random(seed);
  for (int run = 0; run < 200; ++run) {
    std::vector<ClockExchange> exchanges;
    std::int64_t offset = 0;
    for (std::int64_t ticks = 0; ticks < 20; ++ticks) {
      if (random() % 5 == 0) {
        offset += static_cast<std::int64_t>(random() % 8'000'000) - 4'000'000;
      }
      exchanges.push_back(at(ticks * 60'000, offset, static_cast<std::int64_t>(random() % 5000)));
    }
    const ClockMap map(exchanges, kPlausible);
    UtcMicros last = map.utc_from_ticks(-60'000)->at;
    for (std::int64_t ticks = -59'000; ticks < 1'300'000; ticks += 1'000) {
      const UtcMicros now = map.utc_from_ticks(ticks)->at;
      REQUIRE(now >= last);
      last = now;
    }
    const auto inverse = map.ticks_from_utc(map.utc_from_ticks(500'000)->at);
    REQUIRE(inverse);
    REQUIRE(*inverse <= 500'000);
    REQUIRE(map.utc_from_ticks(*inverse)->at >= map.utc_from_ticks(500'000)->at - Micros{0});
  }
}
