#include "analysis/drawing/chart_geometry.hpp"

#include <catch2/catch.hpp>

using analysis::base::micros_from_hours;
using analysis::base::TimeRange;
using analysis::base::UtcMicros;
using namespace analysis::drawing;

namespace {

constexpr UtcMicros kFrom{1763193600LL * 1000000};

UtcMicros hour(double h) { return kFrom + micros_from_hours(h); }

// One bucket an hour; '_' = nothing recorded, a digit = its mean, low and high one below and above.
TimeChart chart_from(const std::string& series) {
  TimeChart chart;
  chart.from = kFrom;
  chart.bucket = micros_from_hours(1);
  ChartLine line;
  for (const char c : series) {
    if (c == '_') {
      line.buckets.emplace_back(std::nullopt);
    } else {
      const double mean = c - '0';
      line.buckets.emplace_back(RangeBucket{mean - 1.0, mean, mean + 1.0});
    }
  }
  chart.lines.push_back(line);
  return chart;
}

// 10 points an hour, 10 points a unit, values 0..10.
ChartScale scale_for(const TimeChart& chart) {
  const auto hours = static_cast<double>(chart.lines.front().buckets.size());
  return {{100.0, 50.0, hours * 10.0, 100.0}, span_of(chart), {0.0, 10.0, 1.0, 0}};
}

}  // namespace

TEST_CASE("AnEmptyBucketBreaksThePath") {
  const TimeChart chart = chart_from("55_55");
  const auto paths = mean_paths(chart, chart.lines.front(), scale_for(chart));
  REQUIRE(paths.size() == 2);
  CHECK(paths[0] == std::vector<Point>{{105.0, 100.0}, {115.0, 100.0}});
  CHECK(paths[1] == std::vector<Point>{{135.0, 100.0}, {145.0, 100.0}});
}

TEST_CASE("AGapShorterThanABucketBreaksThePathToo") {
  TimeChart chart = chart_from("5555");
  chart.gaps = {{hour(1.9), hour(2.1)}};
  const auto runs = recorded_runs(chart, chart.lines.front());
  CHECK(runs == std::vector<BucketRun>{{0, 1}, {2, 3}});
  CHECK(mean_paths(chart, chart.lines.front(), scale_for(chart)).size() == 2);
  CHECK(range_outlines(chart, chart.lines.front(), scale_for(chart)).size() == 2);
}

TEST_CASE("AGapAtABucketsCentreLeavesThatBucketAlone") {
  TimeChart chart = chart_from("555");
  chart.gaps = {{hour(1.4), hour(1.6)}};
  CHECK(recorded_runs(chart, chart.lines.front()) ==
        std::vector<BucketRun>{{0, 0}, {1, 1}, {2, 2}});
}

TEST_CASE("ASingleBucketIsDrawnOverItsOwnTimeOnly") {
  const TimeChart chart = chart_from("_7_");
  const auto paths = mean_paths(chart, chart.lines.front(), scale_for(chart));
  REQUIRE(paths.size() == 1);
  CHECK(paths[0] == std::vector<Point>{{110.0, 80.0}, {120.0, 80.0}});
  const auto outlines = range_outlines(chart, chart.lines.front(), scale_for(chart));
  REQUIRE(outlines.size() == 1);
  CHECK(outlines[0] ==
        std::vector<Point>{{110.0, 70.0}, {120.0, 70.0}, {120.0, 90.0}, {110.0, 90.0}});
}

TEST_CASE("NoPathPointLiesInUnrecordedTime") {
  const TimeChart chart = chart_from("1_23__4_567___8_");
  const ChartScale scale = scale_for(chart);
  for (const auto& path : mean_paths(chart, chart.lines.front(), scale)) {
    REQUIRE(path.size() >= 2);
    for (const TimeRange& gap : unrecorded_time(chart)) {
      const double from = scale.x_of(gap.from);
      const double to = scale.x_of(gap.to);
      CHECK((path.back().x <= from || path.front().x >= to));
    }
  }
}

TEST_CASE("NothingRecordedGivesNoPath") {
  const TimeChart chart = chart_from("___");
  CHECK(recorded_runs(chart, chart.lines.front()).empty());
  CHECK(unrecorded_time(chart) == std::vector<TimeRange>{{hour(0), hour(3)}});
}

TEST_CASE("UnrecordedTimeJoinsEmptyBucketsAndListedGaps") {
  TimeChart chart = chart_from("5__55_5");
  chart.gaps = {{hour(2.5), hour(3.2)}, {hour(4.1), hour(4.2)}};
  CHECK(unrecorded_time(chart) ==
        std::vector<TimeRange>{{hour(1), hour(3.2)}, {hour(4.1), hour(4.2)}, {hour(5), hour(6)}});
}

TEST_CASE("TheAxisHoldsDataAndLimits") {
  TimeChart chart = chart_from("456");
  chart.limit_low = -3.0;
  chart.limit_high = 17.0;
  const ChartScale scale = scale_from(chart, {0, 0, 100, 100}, 5);
  CHECK(scale.axis.low <= -3.0);
  CHECK(scale.axis.high >= 17.0);
  CHECK(scale.y_of(17.0) < scale.y_of(-3.0));
  CHECK(scale.x_of(hour(0)) == Approx(0.0));
  CHECK(scale.x_of(hour(3)) == Approx(100.0));
}

TEST_CASE("AComparedCurveWidensTheAxisByItsMeanOnly") {
  TimeChart chart = chart_from("55");
  ChartLine other;
  other.context = true;
  other.buckets = {RangeBucket{-100.0, 9.0, 100.0}, std::nullopt};
  chart.lines.push_back(other);
  const ChartScale scale = scale_from(chart, {0, 0, 100, 100}, 5);
  CHECK(scale.axis.high >= 9.0);
  CHECK(scale.axis.high < 50.0);
}

TEST_CASE("CloseLabelsMoveApartAndKeepTheirOrder") {
  const auto centres = spread_labels({50.0, 52.0}, 10.0, 0.0, 100.0);
  CHECK(centres[1] - centres[0] >= 10.0);
  const auto low = spread_labels({99.0, 98.0}, 10.0, 0.0, 100.0);
  CHECK(low[0] <= 95.0);
  CHECK(low[0] - low[1] >= 10.0);
  CHECK(spread_labels({20.0, 80.0}, 10.0, 0.0, 100.0) == std::vector<double>{20.0, 80.0});
}
