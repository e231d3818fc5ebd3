#include "analysis/readiness/room/robust_trend.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace analysis::readiness::room {
namespace {

using base::SeriesPoint;

std::vector<SeriesPoint> thinned(std::span<const SeriesPoint> points) {
  const std::size_t stride = (points.size() + kMostTrendPoints - 1) / kMostTrendPoints;
  std::vector<SeriesPoint> kept;
  for (std::size_t back = 0; back < points.size(); back += stride) {
    kept.push_back(points[points.size() - 1 - back]);
  }
  std::reverse(kept.begin(), kept.end());
  return kept;
}

double median_of_sorted(const std::vector<double>& sorted) {
  const std::size_t middle = sorted.size() / 2;
  return sorted.size() % 2 == 1 ? sorted[middle] : 0.5 * (sorted[middle - 1] + sorted[middle]);
}

// How many places the ends of the 90 % interval lie from the middle of the sorted slopes.
double interval_half_width(std::size_t points) {
  constexpr double kNormal95 = 1.6449;
  const auto n = static_cast<double>(points);
  return 0.5 * kNormal95 * std::sqrt(n * (n - 1.0) * (2.0 * n + 5.0) / 18.0);
}

}  // namespace

std::optional<RobustTrend> robust_trend_from(std::span<const SeriesPoint> points) {
  if (points.size() < kFewestTrendPoints) {
    return std::nullopt;
  }
  const std::vector<SeriesPoint> kept = thinned(points);
  const base::UtcMicros newest = kept.back().at;
  std::vector<double> slopes;
  for (std::size_t i = 0; i < kept.size(); ++i) {
    for (std::size_t j = i + 1; j < kept.size(); ++j) {
      slopes.push_back((kept[j].value - kept[i].value) / base::hours_from(kept[j].at - kept[i].at));
    }
  }
  std::sort(slopes.begin(), slopes.end());

  RobustTrend trend;
  trend.per_hour = median_of_sorted(slopes);
  trend.points_used = kept.size();
  const double half_width = interval_half_width(kept.size());
  const double middle = 0.5 * static_cast<double>(slopes.size());
  const double last = static_cast<double>(slopes.size() - 1);
  const auto place = [last](double at) {
    return static_cast<std::size_t>(std::clamp(at, 0.0, last));
  };
  trend.per_hour_low = slopes[place(std::floor(middle - half_width) - 1.0)];
  trend.per_hour_high = slopes[place(std::ceil(middle + half_width))];

  std::vector<double> levels;
  for (const SeriesPoint& point : kept) {
    levels.push_back(point.value + trend.per_hour * base::hours_from(newest - point.at));
  }
  std::sort(levels.begin(), levels.end());
  trend.value_at_newest = median_of_sorted(levels);
  return trend;
}

}  // namespace analysis::readiness::room
