// Expected ticks are worked out by hand from the calendar; steps are common practice, no source.
#include "analysis/drawing/axis.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <random>

using analysis::base::micros_from_hours;
using analysis::base::TimeRange;
using analysis::base::utc_from_rfc3339;
using analysis::base::UtcMicros;
using namespace analysis::drawing;

namespace {

UtcMicros at(const char* text) { return utc_from_rfc3339(text).value(); }

std::vector<std::string> labels_of(const std::vector<TimeTick>& ticks) {
  std::vector<std::string> labels;
  for (const TimeTick& tick : ticks) {
    if (!tick.label.empty()) {
      labels.push_back(tick.label);
    }
  }
  return labels;
}

}  // namespace

TEST_CASE("SixDaysGetOneLabelAtEachMidnightUtc") {
  const TimeRange range{at("2025-11-15T08:00:00Z"), at("2025-11-21T08:00:00Z")};
  const auto ticks = time_ticks(range, 350.0, 45.0);
  CHECK(labels_of(ticks) ==
        std::vector<std::string>{"16 Nov", "17 Nov", "18 Nov", "19 Nov", "20 Nov", "21 Nov"});
  // Every 6 h from 12:00 on the first day to 06:00 on the last.
  CHECK(ticks.size() == 24);
}

TEST_CASE("HoursOfADayCarryTheTimeAndMidnightTheDate") {
  const TimeRange range{at("2024-02-28T20:00:00Z"), at("2024-02-29T08:00:00Z")};
  CHECK(labels_of(time_ticks(range, 300.0, 70.0)) ==
        std::vector<std::string>{"21:00", "29 Feb", "03:00", "06:00"});
}

TEST_CASE("AYearIsLabelledByMonthsAndJanuaryByTheYear") {
  const TimeRange range{at("2024-06-15T00:00:00Z"), at("2025-06-15T00:00:00Z")};
  CHECK(labels_of(time_ticks(range, 300.0, 60.0)) ==
        std::vector<std::string>{"Jul", "Oct", "2025", "Apr"});
}

TEST_CASE("WeeksBeginOnMondays") {
  const TimeRange range{at("2025-11-01T00:00:00Z"), at("2025-12-01T00:00:00Z")};
  const auto labels = labels_of(time_ticks(range, 300.0, 60.0));
  // 3, 10, 17 and 24 November and 1 December 2025 are Mondays.
  CHECK(labels == std::vector<std::string>{"3 Nov", "10 Nov", "17 Nov", "24 Nov", "1 Dec"});
}

TEST_CASE("TicksStayInsideTheRangeInOrderWithRoomForTheirLabels") {
  const unsigned seed = 20251115;
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  std::uniform_real_distribution<double> exponent(-1.0, 5.0);
  std::uniform_int_distribution<std::int64_t> start(0, 2000000000000000LL);
  for (int i = 0; i < 2000; ++i) {
    const UtcMicros from{start(random)};
    const TimeRange range{from, from + micros_from_hours(std::pow(10.0, exponent(random)))};
    const auto ticks = time_ticks(range, 350.0, 42.0);
    const double per_micro = 350.0 / static_cast<double>((range.to - range.from).count());
    double last_labelled = -1e9;
    for (std::size_t k = 0; k < ticks.size(); ++k) {
      REQUIRE(ticks[k].at >= range.from);
      REQUIRE(ticks[k].at <= range.to);
      REQUIRE((k == 0 || ticks[k - 1].at < ticks[k].at));
      if (!ticks[k].label.empty()) {
        const double x = per_micro * static_cast<double>((ticks[k].at - range.from).count());
        REQUIRE(x - last_labelled >= 42.0 - 1e-6);
        last_labelled = x;
      }
    }
    REQUIRE(ticks.size() < 200);
  }
}

TEST_CASE("NoRangeOrNoRoomGivesNoTick") {
  CHECK(time_ticks({at("2025-01-01T00:00:00Z"), at("2025-01-01T00:00:00Z")}, 300, 40).empty());
  CHECK(time_ticks({at("2025-01-02T00:00:00Z"), at("2025-01-01T00:00:00Z")}, 300, 40).empty());
  CHECK(time_ticks({at("2025-01-01T00:00:00Z"), at("2025-01-02T00:00:00Z")}, 30, 40).empty());
}

TEST_CASE("ValueAxisEndsOnRoundSteps") {
  const ValueAxis axis = value_axis_from(14.2, 23.0, 5);
  CHECK(axis.low == Approx(14.0));
  CHECK(axis.high == Approx(24.0));
  CHECK(axis.step == Approx(2.0));
  CHECK(axis.decimals == 0);
  CHECK(ticks_of(axis).size() == 6);
  const ValueAxis fine = value_axis_from(0.72, 0.75, 5);
  CHECK(fine.step == Approx(0.01));
  CHECK(fine.decimals == 2);
}

TEST_CASE("ValueAxisHoldsItsRangeForAnyRange") {
  const unsigned seed = 71;
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  std::uniform_real_distribution<double> value(-1e6, 1e6);
  std::uniform_real_distribution<double> exponent(-6.0, 6.0);
  for (int i = 0; i < 5000; ++i) {
    const double low = value(random);
    const double high = low + std::pow(10.0, exponent(random));
    const ValueAxis axis = value_axis_from(low, high, 2 + i % 5);
    const double slack = 1e-6 * std::max(axis.step, 1e-3 * std::abs(low));
    REQUIRE(axis.low <= low + slack);
    REQUIRE(axis.high >= high - slack);
    REQUIRE(axis.high > axis.low);
    REQUIRE((axis.high - axis.low) / axis.step <= 2 + i % 5 + 1e-6);
  }
}

TEST_CASE("EqualEndsGetARangeAroundThem") {
  const ValueAxis axis = value_axis_from(20.0, 20.0, 5);
  CHECK(axis.low < 20.0);
  CHECK(axis.high > 20.0);
}

TEST_CASE("NumbersHaveAPointAndNoNegativeZero") {
  CHECK(number_text(21.25, 1) == "21.2");
  CHECK(number_text(-0.04, 1) == "0.0");
  CHECK(number_text(-0.06, 1) == "-0.1");
  CHECK(number_text(75.0, 0) == "75");
}
