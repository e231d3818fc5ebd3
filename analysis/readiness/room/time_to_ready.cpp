#include "analysis/readiness/room/time_to_ready.hpp"

#include <algorithm>
#include <span>

#include "analysis/readiness/room/robust_trend.hpp"

namespace analysis::readiness::room {
namespace {

using base::Failure;
using base::Result;
using base::SeriesPoint;

Micros micros_from_seconds(double seconds) { return base::micros_from_hours(seconds / 3600.0); }

struct Limits {
  double low = 0.0;
  double high = 0.0;
  [[nodiscard]] bool hold(double value) const { return value >= low && value <= high; }
};
Limits temperature_limits(const ClimateBand& band) {
  return {band.temperature_low.value(), band.temperature_high.value()};
}
Limits rh_limits(const ClimateBand& band) { return {band.rh_low.value(), band.rh_high.value()}; }

// REQUIRES: the reading has both values.
bool is_in_band(const DwellSample& reading, const ClimateBand& band) {
  return temperature_limits(band).hold(reading.temperature->value()) &&
         rh_limits(band).hold(reading.rh->value());
}

bool splits(const base::Series& series, const SeriesPoint& before, const SeriesPoint& after) {
  return std::any_of(series.gaps.begin(), series.gaps.end(), [&](const base::TimeRange& gap) {
    return gap.from < after.at && gap.to > before.at;
  });
}

// The trend of the window up to `now`, from readings after its newest gap.
Result<RobustTrend, NoTime> trend_of(const base::Series& series, Micros longest_interval,
                                     UtcMicros now) {
  const auto later = [](UtcMicros at, const SeriesPoint& point) { return at < point.at; };
  const auto& all = series.points;
  const auto end = std::upper_bound(all.begin(), all.end(), now, later);
  const auto window_begin = std::upper_bound(all.begin(), end, now - kTrendWindow, later);
  auto begin = end;
  bool has_gap = false;
  while (begin != window_begin && !has_gap) {
    --begin;
    has_gap = begin != window_begin && (begin->at - (begin - 1)->at > longest_interval ||
                                        splits(series, *(begin - 1), *begin));
  }
  const bool long_enough = begin != end && (end - 1)->at - begin->at >= kShortestTrend;
  const auto trend = long_enough ? robust_trend_from(std::span(begin, end)) : std::nullopt;
  if (!trend) {
    return Failure{has_gap ? NoTime::gap : NoTime::no_data};
  }
  return *trend;
}

// When a line that is out reaches its edge, in hours after the newest reading; negative where the
// line is in already and only the newest reading is out.
Result<double, NoTime> hours_to_band(const RobustTrend& trend, double newest,
                                     const Limits& limits) {
  if (limits.hold(newest)) {
    return 0.0;
  }
  if (!trend.rises_or_falls()) {
    return Failure{NoTime::flat};
  }
  const bool below = newest < limits.low;
  if ((trend.per_hour > 0.0) != below) {
    return Failure{NoTime::away};
  }
  const double edge = below ? limits.low : limits.high;
  return (edge - trend.value_at_newest) / trend.per_hour;
}

// Whether a channel that moves for certain will have left its band at the far or near side.
bool leaves_by(const RobustTrend& trend, double newest, const Limits& limits, double hours) {
  const bool rising = trend.per_hour > 0.0;
  const double slowest = rising ? trend.per_hour_low : trend.per_hour_high;
  const double then = newest + slowest * hours;
  return trend.rises_or_falls() && (rising ? then > limits.high : then < limits.low);
}

struct Channel {
  RobustTrend trend;
  double newest = 0.0;
  Limits limits;
};

Result<double, NoTime> hours_to_entry(const Channel& warmth, const Channel& moisture) {
  double hours = 0.0;
  for (const Channel* channel : {&warmth, &moisture}) {
    const auto own = hours_to_band(channel->trend, channel->newest, channel->limits);
    if (!own) {
      return own;
    }
    hours = std::max(hours, own.value());
  }
  if (hours > base::hours_from(kFarthestEntry)) {
    return Failure{NoTime::too_far_off};
  }
  for (const Channel* channel : {&warmth, &moisture}) {
    if (leaves_by(channel->trend, channel->newest, channel->limits, hours)) {
      return Failure{NoTime::away};
    }
  }
  return hours;
}

// Whether the rules of dwell accounting will have thrown the hours away by the time of entry.
bool is_lost_by(UtcMicros entry, const DwellState& state, const DwellPolicy& policy) {
  if (policy.cumulative || state.in_band_seconds <= 0.0) {
    return false;
  }
  const double excursion = state.excursion_seconds + state.pending_unknown_seconds +
                           base::seconds_from(entry - state.previous->at);
  const double allowed =
      std::min(base::seconds_from(policy.grace),
               base::seconds_from(policy.excursion_budget) - state.excursion_sum_seconds);
  return excursion > allowed + kDwellResolutionSeconds;
}

UtcMicros end_after(UtcMicros entry, const DwellState& state, const DwellPolicy& policy) {
  const double counted = is_lost_by(entry, state, policy) ? 0.0 : state.in_band_seconds;
  return entry + policy.required - micros_from_seconds(counted);
}

DwellExpectation approaching(const ExpectedTime& entry, const DwellState& state,
                             const DwellPolicy& policy) {
  return {{end_after(entry.early, state, policy), end_after(entry.likely, state, policy),
           end_after(entry.late, state, policy)},
          DwellBasis::if_trend_goes_on,
          entry,
          is_lost_by(entry.likely, state, policy)};
}

DwellExpectation settled(UtcMicros at, DwellBasis basis) {
  return {{at, at, at}, basis, std::nullopt, false};
}

// REQUIRES: the newest reading has both values.
Result<double, NoTime> hours_from_trends(const DwellSample& newest, const DwellPolicy& policy,
                                         const AirSeries& air, UtcMicros now) {
  const auto warmth = trend_of(air.temperature, policy.longest_interval, now);
  if (!warmth) {
    return Failure{warmth.error()};
  }
  const auto moisture = trend_of(air.rh, policy.longest_interval, now);
  if (!moisture) {
    return Failure{moisture.error()};
  }
  return hours_to_entry(
      {warmth.value(), newest.temperature->value(), temperature_limits(policy.band)},
      {moisture.value(), newest.rh->value(), rh_limits(policy.band)});
}

}  // namespace

Result<DwellExpectation, NoTime> dwell_end_expected_from(const DwellState& state,
                                                         const DwellPolicy& policy,
                                                         const AirSeries& air, UtcMicros now) {
  const double missing_seconds = base::seconds_from(policy.required) - state.in_band_seconds;
  if (missing_seconds <= kDwellResolutionSeconds) {
    return settled(now, DwellBasis::complete);
  }
  if (!state.previous) {
    return Failure{NoTime::no_data};
  }
  const DwellSample& newest = *state.previous;
  if (!newest.temperature || !newest.rh || now - newest.at > policy.longest_interval) {
    return Failure{NoTime::gap};
  }
  if (is_in_band(newest, policy.band)) {
    return settled(std::max(now, newest.at + micros_from_seconds(missing_seconds)),
                   DwellBasis::if_it_stays_so);
  }
  const auto hours = hours_from_trends(newest, policy, air, now);
  if (!hours) {
    return Failure{hours.error()};
  }
  const auto entry_slowed_by = [&](double factor) {
    return std::max(now, newest.at + base::micros_from_hours(factor * hours.value()));
  };
  return approaching(
      {entry_slowed_by(1.0), entry_slowed_by(kLikelySlowing), entry_slowed_by(kLateSlowing)}, state,
      policy);
}

UtcMicros earliest_dwell_end_from(const DwellState& state, const DwellPolicy& policy,
                                  UtcMicros now) {
  const double missing_seconds = base::seconds_from(policy.required) - state.in_band_seconds;
  if (missing_seconds <= kDwellResolutionSeconds) {
    return now;
  }
  if (!state.previous) {
    return now + policy.required;
  }
  const DwellSample& newest = *state.previous;
  const bool fresh = now - newest.at <= policy.longest_interval;
  const bool out = newest.temperature && newest.rh && !is_in_band(newest, policy.band);
  if (out) {
    return std::max(now, end_after(fresh ? now : newest.at, state, policy));
  }
  return std::max(now, newest.at + micros_from_seconds(missing_seconds));
}

ReadyTime ready_time_from(const Result<DwellExpectation, NoTime>& dwell,
                          const std::optional<TimeOrReason>& core) {
  const TimeOrReason hours =
      dwell ? TimeOrReason(dwell.value().at) : TimeOrReason(Failure{dwell.error()});
  if (!hours || !core) {
    return {hours, DecidingPart::dwell};
  }
  if (!*core) {
    return {*core, DecidingPart::core};
  }
  const ExpectedTime& first = hours.value();
  const ExpectedTime& second = core->value();
  const ExpectedTime both{std::max(first.early, second.early),
                          std::max(first.likely, second.likely), std::max(first.late, second.late)};
  return {both, second.likely > first.likely ? DecidingPart::core : DecidingPart::dwell};
}

}  // namespace analysis::readiness::room
