// A straight line through recent readings that a few wild ones don't move. Pure.
#pragma once

#include <cstddef>
#include <optional>
#include <span>

#include "analysis/base/series.hpp"

namespace analysis::readiness::room {

struct RobustTrend {
  double per_hour = 0.0;      // unit of the series an hour; positive = rising
  double per_hour_low = 0.0;  // 90 % interval of the slope, for readings with independent noise
  double per_hour_high = 0.0;
  double value_at_newest = 0.0;  // of the line, at the newest point's time
  std::size_t points_used = 0;

  // The interval does not reach zero: noise alone would rarely look like this.
  [[nodiscard]] bool rises_or_falls() const { return per_hour_low > 0.0 || per_hour_high < 0.0; }
};

inline constexpr std::size_t kFewestTrendPoints = 4;
inline constexpr std::size_t kMostTrendPoints = 50;

// Median of the slopes between all pairs of points, through the median of what is left over; up to
// 29 % of the points may be wild. Source: Theil 1950, Sen 1968 (from memory); the interval by Sen's
// use of Kendall's statistic, without a correction for ties (from memory).
// `points`: strictly increasing in time, finite. More than kMostTrendPoints are thinned evenly, the
// newest stays. nullopt below kFewestTrendPoints. O(n) plus a bounded number of pairs.
[[nodiscard]] std::optional<RobustTrend> robust_trend_from(
    std::span<const base::SeriesPoint> points);

}  // namespace analysis::readiness::room
