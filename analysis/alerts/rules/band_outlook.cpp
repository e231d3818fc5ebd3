#include "analysis/alerts/rules/band_outlook.hpp"

#include <algorithm>

#include "analysis/readiness/room/robust_trend.hpp"
#include "analysis/readiness/room/time_to_ready.hpp"

namespace analysis::alerts {
namespace {

using base::ChannelRole;
using readiness::ChannelEvidence;

// The readings of the trend's window; empty where they do not carry one.
std::vector<base::SeriesPoint> trend_points_from(const ChannelEvidence& channel,
                                                 base::UtcMicros now,
                                                 base::Micros longest_interval) {
  const base::UtcMicros from = now - readiness::room::kTrendWindow;
  std::vector<base::SeriesPoint> points;
  for (const base::SeriesPoint& point : channel.recent.points) {
    if (point.at >= from && point.at <= now) {
      points.push_back(point);
    }
  }
  const bool broken = std::any_of(channel.recent.gaps.begin(), channel.recent.gaps.end(),
                                  [&](const base::TimeRange& gap) { return gap.to > from; });
  if (broken || points.empty() || now - points.back().at > longest_interval ||
      points.back().at - points.front().at < readiness::room::kShortestTrend) {
    return {};
  }
  return points;
}

struct Edges {
  double low;
  double high;
};

Edges edges_of(ChannelRole role, const readiness::FloorRequirements& requirements) {
  return role == ChannelRole::room_air_temperature
             ? Edges{requirements.temperature_low.value.value(),
                     requirements.temperature_high.value.value()}
             : Edges{requirements.rh_low.value.value(), requirements.rh_high.value.value()};
}

BandOutlook outlook_of(const ChannelEvidence& channel, base::UtcMicros now,
                       const readiness::FloorRequirements& requirements) {
  const auto points = trend_points_from(channel, now, requirements.longest_interval.value);
  const auto trend = readiness::room::robust_trend_from(points);
  if (!trend) {
    return {};
  }
  const Edges edges = edges_of(channel.role, requirements);
  const double value = trend->value_at_newest;
  if (!trend->rises_or_falls() || value < edges.low || value > edges.high) {
    return {true, std::nullopt};
  }
  const double edge = trend->per_hour > 0.0 ? edges.high : edges.low;
  const double hours = std::min((edge - value) / trend->per_hour, 1000.0);
  return {true,
          BandExit{channel.role, value, trend->per_hour, edge, base::micros_from_hours(hours)}};
}

}  // namespace

BandOutlook band_outlook_from(const readiness::RoomEvidence& evidence,
                              const readiness::FloorRequirements& requirements) {
  BandOutlook whole;
  int known = 0;
  for (const ChannelEvidence& channel : evidence.channels) {
    if (channel.role != ChannelRole::room_air_temperature &&
        channel.role != ChannelRole::room_air_rh) {
      continue;
    }
    const BandOutlook one = outlook_of(channel, evidence.now, requirements);
    known += one.known ? 1 : 0;
    if (one.exit && (!whole.exit || one.exit->in < whole.exit->in)) {
      whole.exit = one.exit;
    }
  }
  whole.known = known == 2;
  return whole;
}

}  // namespace analysis::alerts
