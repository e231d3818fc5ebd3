// A value over time in equal buckets, for charts. Pure.
#pragma once

#include <algorithm>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "analysis/drawing/chart_geometry.hpp"

namespace logger::app {

struct CourseValue {
  double low = 0.0;
  double mean = 0.0;
  double high = 0.0;
};
using CourseCurve = std::vector<std::optional<CourseValue>>;  // nullopt = nothing recorded there

[[nodiscard]] inline bool any_value(const CourseCurve& curve) {
  return std::any_of(curve.begin(), curve.end(), [](const auto& v) { return v.has_value(); });
}

// Mean, lowest and highest of the readings in each bucket.
class BucketMeans {
 public:
  // REQUIRES: bucket < buckets, which is the same in every call.
  void add(std::size_t bucket, double value, std::size_t buckets) {
    add(bucket, CourseValue{value, value, value}, buckets);
  }
  // Of what was thinned before; its mean weighs as one reading.
  void add(std::size_t bucket, const CourseValue& value, std::size_t buckets) {
    curve_.resize(buckets);
    counts_.resize(buckets);
    auto& known = curve_[bucket];
    if (!known) {
      known = CourseValue{value.low, 0.0, value.high};
    }
    known->low = std::min(known->low, value.low);
    known->high = std::max(known->high, value.high);
    known->mean += (value.mean - known->mean) / static_cast<double>(++counts_[bucket]);
  }
  // Empty when nothing was added.
  [[nodiscard]] CourseCurve take() { return std::move(curve_); }

 private:
  CourseCurve curve_;
  std::vector<std::int64_t> counts_;
};

// `shown` turns a value of the curve into one of the chart.
template <class Shown>
[[nodiscard]] analysis::drawing::ChartLine line_from(std::string label, const CourseCurve& curve,
                                                     Shown shown) {
  analysis::drawing::ChartLine line{std::move(label), {}};
  for (const auto& value : curve) {
    line.buckets.push_back(value ? std::optional(analysis::drawing::RangeBucket{
                                       shown(value->low), shown(value->mean), shown(value->high)})
                                 : std::nullopt);
  }
  return line;
}

}  // namespace logger::app
