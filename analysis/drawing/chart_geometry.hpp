// Where the parts of a time chart go, without drawing them. Pure. A path never crosses time in
// which nothing was recorded: it ends before and starts anew behind.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/base/time.hpp"
#include "analysis/drawing/axis.hpp"
#include "analysis/drawing/canvas.hpp"

namespace analysis::drawing {

// Lowest, mean and highest value in one stretch of time.
struct RangeBucket {
  double low = 0.0;
  double mean = 0.0;
  double high = 0.0;
};

struct ChartLine {
  std::string label;  // for the legend; may be empty when there is one line only
  std::vector<std::optional<RangeBucket>> buckets;  // nullopt = nothing recorded
  bool context = false;  // a curve of another place, for comparison: thin, without range
};

struct ChartMark {
  base::TimeRange range;
  std::string label;  // a number that stands in a table too
};

// Values in the unit of the chart. `buckets` of every line begin at `from`, each `bucket` long. The
// first line is the chart's subject: what it lacks, and `gaps`, is shown as not recorded.
struct TimeChart {
  std::string title;
  std::string unit;
  base::UtcMicros from;
  base::Micros bucket{0};
  std::vector<ChartLine> lines;
  std::vector<base::TimeRange> gaps;  // shorter than a bucket, perhaps; disjoint, increasing
  std::optional<double> limit_low;
  std::optional<double> limit_high;
  std::vector<ChartMark> excursions;
  int limit_decimals = 0;
};

[[nodiscard]] base::TimeRange span_of(const TimeChart& chart);  // empty where there is no bucket

// Both ends belong to it, and every bucket between has data.
struct BucketRun {
  std::size_t first = 0;
  std::size_t last = 0;
  bool operator==(const BucketRun&) const = default;
};
// Runs with data, cut also where a listed gap touches the time between two bucket centres.
[[nodiscard]] std::vector<BucketRun> recorded_runs(const TimeChart& chart, const ChartLine& line);
// Time of the subject without data: empty buckets joined, and the listed gaps; disjoint,
// increasing.
[[nodiscard]] std::vector<base::TimeRange> unrecorded_time(const TimeChart& chart);

// From values and times to points within `plot`; high values up.
struct ChartScale {
  Rect plot;
  base::TimeRange span;
  ValueAxis axis;
  [[nodiscard]] double x_of(base::UtcMicros at) const;
  [[nodiscard]] double y_of(double value) const;
};
// The axis holds all data and both limits with some air.
[[nodiscard]] ChartScale scale_from(const TimeChart& chart, const Rect& plot, int most_steps);

// One path for each run: means at bucket centres; a run of one bucket spans that bucket.
[[nodiscard]] std::vector<std::vector<Point>> mean_paths(const TimeChart& chart,
                                                         const ChartLine& line,
                                                         const ChartScale& scale);
// One closed outline for each run, lowest to highest.
[[nodiscard]] std::vector<std::vector<Point>> range_outlines(const TimeChart& chart,
                                                             const ChartLine& line,
                                                             const ChartScale& scale);

// Moves centres of labels apart so that none overlap, in order and near where they belong, inside
// low..high when there is room. `height`: of each label. The order of `centres` is kept.
[[nodiscard]] std::vector<double> spread_labels(std::vector<double> centres, double height,
                                                double low, double high);

}  // namespace analysis::drawing
