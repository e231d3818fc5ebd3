#include "analysis/drawing/chart_geometry.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace analysis::drawing {
namespace {

constexpr double kAir = 0.06;  // of the data's range, above and below

base::UtcMicros start_of(const TimeChart& chart, std::size_t bucket) {
  return chart.from + chart.bucket * static_cast<std::int64_t>(bucket);
}

base::UtcMicros centre_of(const TimeChart& chart, std::size_t bucket) {
  return start_of(chart, bucket) + chart.bucket / 2;
}

bool gap_between(const TimeChart& chart, base::UtcMicros from, base::UtcMicros to) {
  return std::any_of(chart.gaps.begin(), chart.gaps.end(),
                     [&](const base::TimeRange& gap) { return gap.from < to && gap.to > from; });
}

ValueExtent extremes_of(const TimeChart& chart) {
  ValueExtent extremes;
  for (const ChartLine& line : chart.lines) {
    for (const auto& bucket : line.buckets) {
      if (bucket) {
        extremes.take(line.context ? bucket->mean : bucket->low);
        extremes.take(line.context ? bucket->mean : bucket->high);
      }
    }
  }
  for (const auto& limit : {chart.limit_low, chart.limit_high}) {
    if (limit) {
      extremes.take(*limit);
    }
  }
  return extremes;
}

}  // namespace

base::TimeRange span_of(const TimeChart& chart) {
  std::size_t longest = 0;
  for (const ChartLine& line : chart.lines) {
    longest = std::max(longest, line.buckets.size());
  }
  return {chart.from, start_of(chart, longest)};
}

std::vector<BucketRun> recorded_runs(const TimeChart& chart, const ChartLine& line) {
  std::vector<BucketRun> runs;
  bool open = false;
  for (std::size_t i = 0; i < line.buckets.size(); ++i) {
    if (!line.buckets[i]) {
      open = false;
      continue;
    }
    if (open && !gap_between(chart, centre_of(chart, i - 1), centre_of(chart, i))) {
      runs.back().last = i;
    } else {
      runs.push_back({i, i});
    }
    open = true;
  }
  return runs;
}

std::vector<base::TimeRange> unrecorded_time(const TimeChart& chart) {
  std::vector<base::TimeRange> ranges = chart.gaps;
  if (!chart.lines.empty()) {
    const auto& buckets = chart.lines.front().buckets;
    for (std::size_t i = 0; i < buckets.size(); ++i) {
      if (!buckets[i]) {
        ranges.push_back({start_of(chart, i), start_of(chart, i + 1)});
      }
    }
  }
  std::sort(ranges.begin(), ranges.end());
  std::vector<base::TimeRange> joined;
  for (const base::TimeRange& range : ranges) {
    if (!joined.empty() && range.from <= joined.back().to) {
      joined.back().to = std::max(joined.back().to, range.to);
    } else {
      joined.push_back(range);
    }
  }
  return joined;
}

double ChartScale::x_of(base::UtcMicros at) const {
  const auto whole = static_cast<double>((span.to - span.from).count());
  return plot.x + plot.width * static_cast<double>((at - span.from).count()) / whole;
}

double ChartScale::y_of(double value) const {
  return plot.bottom() - plot.height * (value - axis.low) / (axis.high - axis.low);
}

ChartScale scale_from(const TimeChart& chart, const Rect& plot, int most_steps) {
  const ValueExtent extremes = extremes_of(chart);
  const double air = kAir * (extremes.high - extremes.low);
  ChartScale scale{plot, span_of(chart), {}};
  scale.axis = value_axis_from(extremes.low - air, extremes.high + air, most_steps);
  return scale;
}

std::vector<std::vector<Point>> mean_paths(const TimeChart& chart, const ChartLine& line,
                                           const ChartScale& scale) {
  std::vector<std::vector<Point>> paths;
  for (const BucketRun& run : recorded_runs(chart, line)) {
    std::vector<Point> path;
    if (run.first == run.last) {
      const double y = scale.y_of(line.buckets[run.first]->mean);
      path = {{scale.x_of(start_of(chart, run.first)), y},
              {scale.x_of(start_of(chart, run.first + 1)), y}};
    } else {
      for (std::size_t i = run.first; i <= run.last; ++i) {
        path.push_back({scale.x_of(centre_of(chart, i)), scale.y_of(line.buckets[i]->mean)});
      }
    }
    paths.push_back(std::move(path));
  }
  return paths;
}

std::vector<std::vector<Point>> range_outlines(const TimeChart& chart, const ChartLine& line,
                                               const ChartScale& scale) {
  std::vector<std::vector<Point>> outlines;
  for (const BucketRun& run : recorded_runs(chart, line)) {
    std::vector<Point> upper;
    std::vector<Point> lower;
    for (std::size_t i = run.first; i <= run.last; ++i) {
      const RangeBucket& bucket = *line.buckets[i];
      if (run.first == run.last) {
        const double from = scale.x_of(start_of(chart, i));
        const double to = scale.x_of(start_of(chart, i + 1));
        upper = {{from, scale.y_of(bucket.high)}, {to, scale.y_of(bucket.high)}};
        lower = {{from, scale.y_of(bucket.low)}, {to, scale.y_of(bucket.low)}};
      } else {
        const double x = scale.x_of(centre_of(chart, i));
        upper.push_back({x, scale.y_of(bucket.high)});
        lower.push_back({x, scale.y_of(bucket.low)});
      }
    }
    upper.insert(upper.end(), lower.rbegin(), lower.rend());
    outlines.push_back(std::move(upper));
  }
  return outlines;
}

std::vector<double> spread_labels(std::vector<double> centres, double height, double low,
                                  double high) {
  std::vector<std::size_t> order(centres.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(),
            [&](std::size_t a, std::size_t b) { return centres[a] < centres[b]; });
  double floor = low + height / 2.0;
  for (const std::size_t i : order) {
    centres[i] = std::max(centres[i], floor);
    floor = centres[i] + height;
  }
  double ceiling = high - height / 2.0;
  for (auto i = order.rbegin(); i != order.rend(); ++i) {
    centres[*i] = std::min(centres[*i], ceiling);
    ceiling = centres[*i] - height;
  }
  return centres;
}

}  // namespace analysis::drawing
