#include "analysis/readiness/dwell.hpp"

#include <algorithm>
#include <cmath>

namespace analysis::readiness {
namespace {

// Two crossings nearer than this are one: double rounding must not turn a touch into time in band.
constexpr double kTouchSeconds = 1e-9;

// A part of an interval, as fractions of it.
struct Part {
  double from = 0.0;
  double to = 1.0;
};

struct Climate {
  double temperature_celsius = 0.0;
  double rh_fraction = 0.0;
};

bool exceeds(double seconds, double limit_seconds) {
  return seconds > limit_seconds + kDwellResolutionSeconds;
}

// Where the straight line from v0 to v1 lies within [low, high]; nullopt = nowhere.
std::optional<Part> part_within(double v0, double v1, double low, double high) {
  if (std::max(v0, v1) < low || std::min(v0, v1) > high) {
    return std::nullopt;
  }
  Part part;
  if (v0 < low) {
    part.from = (low - v0) / (v1 - v0);
  } else if (v0 > high) {
    part.from = (high - v0) / (v1 - v0);
  }
  if (v1 < low) {
    part.to = (low - v0) / (v1 - v0);
  } else if (v1 > high) {
    part.to = (high - v0) / (v1 - v0);
  }
  return part;
}

Climate between(const Climate& p, const Climate& q, double fraction) {
  if (fraction <= 0.0) {
    return p;
  }
  if (fraction >= 1.0) {
    return q;
  }
  return {std::lerp(p.temperature_celsius, q.temperature_celsius, fraction),
          std::lerp(p.rh_fraction, q.rh_fraction, fraction)};
}

template <class T>
void widen(std::optional<T>& low, std::optional<T>& high, T value) {
  low = low ? std::min(*low, value) : value;
  high = high ? std::max(*high, value) : value;
}

AirExtremes joined(const std::optional<AirExtremes>& one, const AirExtremes& other) {
  if (!one) {
    return other;
  }
  return {std::min(one->temperature_min, other.temperature_min),
          std::max(one->temperature_max, other.temperature_max),
          std::min(one->rh_min, other.rh_min), std::max(one->rh_max, other.rh_max)};
}

template <class T>
std::optional<T> finite_or_none(std::optional<T> value) {
  return value && std::isfinite(value->value()) ? value : std::nullopt;
}

std::optional<Climate> climate_of(const DwellSample& sample) {
  if (!sample.temperature || !sample.rh) {
    return std::nullopt;
  }
  return Climate{sample.temperature->value(), sample.rh->value()};
}

}  // namespace

struct DwellAccount::Stretch {
  UtcMicros interval_start;
  double from_seconds;  // since interval_start
  double to_seconds;
  Climate at_from;  // meaningful in band only
  Climate at_to;

  [[nodiscard]] double seconds() const { return to_seconds - from_seconds; }
  [[nodiscard]] UtcMicros instant(double offset_seconds) const {
    return interval_start + Micros{std::llround(offset_seconds * 1e6)};
  }
};

std::vector<DwellReset> DwellAccount::add(const DwellSample& sample) {
  std::vector<DwellReset> resets;
  DwellSample current{sample.at, finite_or_none(sample.temperature), finite_or_none(sample.rh)};
  if (!state_.previous) {
    state_.first_at = current.at;
    state_.previous = current;
    return resets;
  }
  const DwellSample& previous = *state_.previous;
  if (current.at <= previous.at) {
    ++state_.rejected;
    return resets;
  }
  const Micros interval = current.at - previous.at;
  const double seconds = base::seconds_from(interval);
  const std::optional<Climate> p = climate_of(previous);
  const std::optional<Climate> q = climate_of(current);
  if (interval > policy_.longest_interval || !p || !q) {
    add_unknown({previous.at, 0.0, seconds, {}, {}}, resets);
  } else {
    const ClimateBand& band = policy_.band;
    const auto warm = part_within(p->temperature_celsius, q->temperature_celsius,
                                  band.temperature_low.value(), band.temperature_high.value());
    const auto moist =
        part_within(p->rh_fraction, q->rh_fraction, band.rh_low.value(), band.rh_high.value());
    const double from = warm && moist ? std::max(warm->from, moist->from) : 1.0;
    const double to = warm && moist ? std::min(warm->to, moist->to) : 0.0;
    if ((to - from) * seconds < kTouchSeconds) {
      add_out_of_band({previous.at, 0.0, seconds, {}, {}}, resets);
    } else {
      if (from > 0.0) {
        add_out_of_band({previous.at, 0.0, from * seconds, {}, {}}, resets);
      }
      add_in_band(
          {previous.at, from * seconds, to * seconds, between(*p, *q, from), between(*p, *q, to)});
      if (to < 1.0) {
        add_out_of_band({previous.at, to * seconds, seconds, {}, {}}, resets);
      }
    }
  }
  state_.previous = current;
  return resets;
}

void DwellAccount::add_in_band(const Stretch& stretch) {
  if (state_.in_band_seconds > 0.0) {
    state_.excursion_sum_seconds += state_.excursion_seconds;
  } else {
    state_.run_started_at = stretch.instant(stretch.from_seconds);
  }
  state_.excursion_seconds = 0.0;
  state_.pending_unknown_seconds = 0.0;

  const double missing = base::seconds_from(policy_.required) - state_.in_band_seconds;
  if (!state_.done_at && !exceeds(missing, stretch.seconds())) {
    state_.done_at = stretch.instant(stretch.from_seconds + std::max(missing, 0.0));
  }
  widen_recent(stretch, state_.in_band_seconds);
  state_.in_band_seconds += stretch.seconds();
  state_.total_in_seconds += stretch.seconds();
  state_.counting = true;
  for (const Climate& climate : {stretch.at_from, stretch.at_to}) {
    widen(state_.run_temperature_min, state_.run_temperature_max,
          Celsius{climate.temperature_celsius});
    widen(state_.run_rh_min, state_.run_rh_max, RelativeHumidity{climate.rh_fraction});
  }
}

// A stretch over the border of two parts widens both.
void DwellAccount::widen_recent(const Stretch& stretch, double counted_before_seconds) {
  RecentAir& recent = state_.recent;
  const double part_seconds =
      base::seconds_from(policy_.required) / static_cast<double>(RecentAir::kPartsOfRequired);
  const AirExtremes extremes{
      Celsius{std::min(stretch.at_from.temperature_celsius, stretch.at_to.temperature_celsius)},
      Celsius{std::max(stretch.at_from.temperature_celsius, stretch.at_to.temperature_celsius)},
      RelativeHumidity{std::min(stretch.at_from.rh_fraction, stretch.at_to.rh_fraction)},
      RelativeHumidity{std::max(stretch.at_from.rh_fraction, stretch.at_to.rh_fraction)}};
  const auto size = static_cast<std::int64_t>(recent.parts.size());
  const auto first = static_cast<std::int64_t>(counted_before_seconds / part_seconds);
  const auto last =
      static_cast<std::int64_t>((counted_before_seconds + stretch.seconds()) / part_seconds);
  for (std::int64_t part = std::max(first, last - size + 1); part <= last; ++part) {
    auto& slot = recent.parts[static_cast<std::size_t>(part % size)];
    slot = part > recent.newest ? extremes : joined(slot, extremes);
    recent.newest = std::max(recent.newest, part);
  }
}

void DwellAccount::add_out_of_band(const Stretch& stretch, std::vector<DwellReset>& resets) {
  // Unknown time between two times out of band is taken as out of band.
  state_.excursion_seconds += state_.pending_unknown_seconds + stretch.seconds();
  state_.pending_unknown_seconds = 0.0;
  state_.total_out_seconds += stretch.seconds();
  state_.counting = false;
  // An excursion that began before the run is not charged to it.
  if (policy_.cumulative || state_.in_band_seconds <= 0.0) {
    return;
  }
  const double grace = base::seconds_from(policy_.grace);
  const double budget = base::seconds_from(policy_.excursion_budget) - state_.excursion_sum_seconds;
  const double allowed = std::min(grace, budget);
  if (exceeds(state_.excursion_seconds, allowed)) {
    reset(stretch.instant(stretch.to_seconds - (state_.excursion_seconds - allowed)),
          exceeds(grace, budget) ? ResetReason::excursion_budget : ResetReason::excursion, resets);
  }
}

void DwellAccount::add_unknown(const Stretch& stretch, std::vector<DwellReset>& resets) {
  state_.total_unknown_seconds += stretch.seconds();
  state_.counting = false;
  if (state_.excursion_seconds > 0.0) {
    state_.pending_unknown_seconds += stretch.seconds();
  }
  if (state_.in_band_seconds <= 0.0) {
    return;
  }
  state_.unknown_run_seconds += stretch.seconds();
  const double allowed = base::seconds_from(policy_.longest_unknown);
  if (!policy_.cumulative && exceeds(state_.unknown_run_seconds, allowed)) {
    reset(stretch.instant(stretch.to_seconds - (state_.unknown_run_seconds - allowed)),
          ResetReason::unknown, resets);
  }
}

void DwellAccount::reset(UtcMicros at, ResetReason reason, std::vector<DwellReset>& resets) {
  resets.push_back({at, reason, state_.in_band_seconds});
  ++state_.resets;
  state_.in_band_seconds = 0.0;
  state_.excursion_sum_seconds = 0.0;
  state_.unknown_run_seconds = 0.0;
  state_.run_started_at.reset();
  state_.run_temperature_min.reset();
  state_.run_temperature_max.reset();
  state_.run_rh_min.reset();
  state_.run_rh_max.reset();
  state_.recent = {};
}

std::optional<AirExtremes> RecentAir::extremes() const {
  std::optional<AirExtremes> all;
  for (const auto& part : parts) {
    if (part) {
      all = joined(all, *part);
    }
  }
  return all;
}

bool DwellAccount::enough() const {
  return !exceeds(base::seconds_from(policy_.required), state_.in_band_seconds);
}

bool DwellAccount::lapsed() const { return state_.done_at.has_value() && !enough(); }

}  // namespace analysis::readiness
