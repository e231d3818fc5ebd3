#include "analysis/readiness/channel_window.hpp"

#include <algorithm>
#include <cmath>

namespace analysis::readiness {
namespace {

double value_at(const base::SeriesPoint& p, const base::SeriesPoint& q, UtcMicros at) {
  const double fraction =
      static_cast<double>((at - p.at).count()) / static_cast<double>((q.at - p.at).count());
  return std::lerp(p.value, q.value, fraction);
}

}  // namespace

std::optional<WindowValues> window_values_from(const base::Series& series,
                                               const base::TimeRange& range,
                                               Micros longest_interval) {
  const auto& points = series.points;
  auto next =
      std::upper_bound(points.begin(), points.end(), range.from,
                       [](UtcMicros at, const base::SeriesPoint& point) { return at < point.at; });
  if (next == points.begin() && next != points.end()) {
    ++next;
  }
  WindowValues values;
  double area = 0.0;  // unit of the series times microseconds
  for (; next != points.end() && (next - 1)->at < range.to; ++next) {
    const base::SeriesPoint& p = *(next - 1);
    const base::SeriesPoint& q = *next;
    if (q.at - p.at > longest_interval) {
      continue;
    }
    const UtcMicros from = std::max(p.at, range.from);
    const UtcMicros to = std::min(q.at, range.to);
    const double begin = value_at(p, q, from);
    const double end = value_at(p, q, to);
    const double lower = std::min(begin, end);
    values.lowest = values.covered == Micros{0} ? lower : std::min(values.lowest, lower);
    values.covered += to - from;
    area += 0.5 * (begin + end) * static_cast<double>((to - from).count());
  }
  if (values.covered == Micros{0}) {
    return std::nullopt;
  }
  values.mean = area / static_cast<double>(values.covered.count());
  return values;
}

bool gives_values(const ChannelEvidence& channel, UtcMicros now, Micros longest_interval) {
  return channel.last_good && now - channel.last_good->at <= longest_interval;
}

std::optional<WindowValues> recent_values_from(const ChannelEvidence& channel, UtcMicros now,
                                               Micros length, Micros longest_interval,
                                               std::optional<UtcMicros> not_before) {
  if (!gives_values(channel, now, longest_interval)) {
    return std::nullopt;
  }
  const UtcMicros to = std::min(channel.last_good->at, now);
  const UtcMicros from = std::max(to - length, not_before.value_or(to - length));
  const auto values = window_values_from(channel.recent, {from, to}, longest_interval);
  return values && 2 * values->covered >= length ? values : std::nullopt;
}

}  // namespace analysis::readiness
