#include "analysis/readiness/room_replay.hpp"

#include <algorithm>

namespace analysis::readiness {
namespace {

constexpr Micros kLongestThinning = base::micros_from_hours(0.25);

bool is_rh(base::ChannelRole role) { return base::file_unit_of(role) == "percent_rh"; }

// Slabs are judged by a mean over a day; everything else by the last hours.
bool reaches_far(base::ChannelRole role) { return role == base::ChannelRole::slab_rh; }

// A value in the file unit as the verdict wants it: rh as fraction.
double evidence_value(base::ChannelRole role, double value) {
  return is_rh(role) ? base::rh_from_percent(value).value() : value;
}

std::string air_box_of(const RoomSetup& setup) {
  const auto carries = [&](const std::string& box, base::ChannelRole role) {
    return std::any_of(setup.channels.begin(), setup.channels.end(), [&](const ChannelSetup& c) {
      return c.box_id == box && c.scale.role == role;
    });
  };
  for (const ChannelSetup& channel : setup.channels) {
    if (carries(channel.box_id, base::ChannelRole::room_air_temperature) &&
        carries(channel.box_id, base::ChannelRole::room_air_rh)) {
      return channel.box_id;
    }
  }
  return {};
}

std::optional<std::size_t> first_core_of(const RoomSetup& setup) {
  const auto found =
      std::find_if(setup.channels.begin(), setup.channels.end(), [](const ChannelSetup& channel) {
        return channel.scale.role == base::ChannelRole::stack_core_temperature;
      });
  return found == setup.channels.end()
             ? std::nullopt
             : std::optional(static_cast<std::size_t>(found - setup.channels.begin()));
}

// A state that does not fit the stack as it is now is not believed; it starts from the delivery.
std::optional<StackTracker> tracker_from(const RoomSetup& setup,
                                         const std::optional<StackTrackerState>& resume) {
  if (!setup.stack || !setup.stack->delivered || !setup.delivered_at) {
    return std::nullopt;
  }
  StackTrackerPolicy policy;
  policy.within = setup.requirements.core_within.value;
  policy.away = base::KelvinDelta{2.0 * policy.within.value()};
  policy.longest_interval = setup.requirements.longest_interval.value;
  const physics::StackGeometry& geometry = setup.stack->geometry;
  const auto tracker =
      resume
          ? StackTracker::resume(geometry, *resume, policy)
          : StackTracker::start(geometry, {*setup.delivered_at, *setup.stack->delivered}, policy);
  return tracker ? std::optional(tracker.value()) : std::nullopt;
}

}  // namespace

std::optional<double> standard_uncertainty_from(const ChannelSetup& channel,
                                                std::optional<UtcMicros> from) {
  const auto found = sensor_uncertainty_from(
      {channel.specification, channel.calibrations, channel.scale.units_per_count}, from);
  return found ? std::optional(evidence_value(channel.scale.role, found->combined()))
               : std::nullopt;
}

DwellPolicy dwell_policy_from(const RoomSetup& setup) {
  AirUncertainty air;
  for (const ChannelSetup& channel : setup.channels) {
    const auto uncertainty = standard_uncertainty_from(channel, setup.delivered_at);
    if (!uncertainty) {
      continue;
    }
    if (channel.scale.role == base::ChannelRole::room_air_temperature) {
      air.temperature = base::KelvinDelta{*uncertainty};
    } else if (channel.scale.role == base::ChannelRole::room_air_rh) {
      air.rh = RelativeHumidity{*uncertainty};
    }
  }
  return dwell_policy_from(setup.requirements, air);
}

RoomReplay::RoomReplay(RoomSetup setup, const ReplayMemory& memory)
    : setup_(std::move(setup)),
      account_(dwell_policy_from(setup_), memory.dwell),
      air_box_(air_box_of(setup_)),
      windows_(setup_.channels.size()),
      still_counts_(setup_.channels.size()),
      core_(first_core_of(setup_)),
      stack_(tracker_from(setup_, memory.stack)) {
  for (std::size_t i = 0; i < windows_.size(); ++i) {
    const auto kept = memory.windows.find(setup_.channels[i].channel_id);
    if (kept != memory.windows.end() && reaches_far(setup_.channels[i].scale.role)) {
      windows_[i] = kept->second;
    }
  }
}

ReplayMemory RoomReplay::memory() const {
  ReplayMemory memory;
  memory.dwell = account_.state();
  for (std::size_t i = 0; i < windows_.size(); ++i) {
    if (reaches_far(setup_.channels[i].scale.role)) {
      memory.windows.emplace(setup_.channels[i].channel_id, windows_[i]);
    }
  }
  if (stack_) {
    memory.stack = stack_->state();
  }
  return memory;
}

ReplayStep RoomReplay::add(const std::string& box_id, const base::Record& record, UtcMicros at) {
  ReplayStep step;
  const std::optional<DwellSample> air = fill(box_id, record, at);
  step.air = air;
  if (!air || !setup_.delivered_at || at < *setup_.delivered_at) {
    return step;
  }
  const std::int64_t rejected = account_.state().rejected;
  step.resets = account_.add(*air);
  if (account_.state().rejected == rejected) {
    step.counted = air;
  }
  return step;
}

void RoomReplay::warm(const std::string& box_id, const base::Record& record, UtcMicros at) {
  fill(box_id, record, at);
}

UtcMicros RoomReplay::warm_from(UtcMicros newest) const {
  const UtcMicros of_windows = newest - kShortWindow;
  return stack_ ? std::min(of_windows, stack_->needs_samples_from()) : of_windows;
}

std::optional<DwellSample> RoomReplay::fill(const std::string& box_id, const base::Record& record,
                                            UtcMicros at) {
  DwellSample air{at, {}, {}};
  StackSample stack{at};
  for (std::size_t i = 0; i < setup_.channels.size(); ++i) {
    const ChannelSetup& channel = setup_.channels[i];
    if (channel.box_id != box_id) {
      continue;
    }
    const CalibratedValue calibrated =
        still_counts_[i].read(record, static_cast<std::size_t>(channel.channel_index),
                              channel.scale, at, channel.calibrations);
    if (channel.scale.role == base::ChannelRole::room_air_temperature && calibrated.value) {
      air.temperature = Celsius{*calibrated.value};
      stack.air = air.temperature;
    } else if (channel.scale.role == base::ChannelRole::room_air_rh && calibrated.value) {
      air.rh = base::rh_from_percent(*calibrated.value);
    }
    if (i == core_ && calibrated.value && (!channel.placed_at || at >= *channel.placed_at)) {
      stack.core = Celsius{*calibrated.value};
    }
    take(windows_[i], channel, record, calibrated, at);
  }
  if (stack_ && at >= *setup_.delivered_at) {
    stack_->add(stack);
  }
  return !air_box_.empty() && box_id == air_box_ ? std::optional(air) : std::nullopt;
}

void RoomReplay::take(ChannelWindow& window, const ChannelSetup& channel,
                      const base::Record& record, const CalibratedValue& calibrated,
                      UtcMicros at) const {
  if (window.last_seen_at && at <= *window.last_seen_at) {
    return;
  }
  window.last_seen_at = at;
  const auto index = static_cast<std::size_t>(channel.channel_index);
  window.last_status =
      index < base::kMaxChannels ? record.statuses[index] : base::ChannelStatus::not_fitted;
  window.last_quality = calibrated.quality;
  if (!calibrated.value) {
    return;
  }
  window.last_good = {at, evidence_value(channel.scale.role, *calibrated.value)};
  append(window, channel.scale.role, *window.last_good);
}

void RoomReplay::append(ChannelWindow& window, base::ChannelRole role,
                        const base::SeriesPoint& point) const {
  auto& points = window.points;
  const FloorRequirements& r = setup_.requirements;
  Micros length = kShortWindow;
  if (reaches_far(role)) {
    length = r.slab ? std::max(length, r.slab->averaging.value) : length;
    // The first reading of each slot stays, and the newest one; never so few that a gap appears.
    const Micros slot = std::min(kLongestThinning, r.longest_interval.value / 3);
    const auto slot_of = [slot](const base::SeriesPoint& p) { return p.at.value / slot.count(); };
    const std::size_t n = points.size();
    if (n >= 2 && slot_of(points[n - 1]) == slot_of(points[n - 2]) &&
        point.at - points[n - 1].at <= r.longest_interval.value) {
      points.pop_back();
    }
  }
  points.push_back(point);
  // The newest point before the window stays, so that the line into the window is known.
  while (points.size() > 2 && points[1].at <= point.at - length) {
    points.pop_front();
  }
}

ChannelEvidence RoomReplay::channel_evidence(std::size_t index) const {
  const ChannelSetup& channel = setup_.channels[index];
  const ChannelWindow& window = windows_[index];
  ChannelEvidence evidence;
  evidence.box_id = channel.box_id;
  evidence.channel_index = channel.channel_index;
  evidence.channel_id = channel.channel_id;
  evidence.role = channel.scale.role;
  evidence.recent.points.assign(window.points.begin(), window.points.end());
  for (std::size_t i = 1; i < window.points.size(); ++i) {
    const base::TimeRange between{window.points[i - 1].at, window.points[i].at};
    if (between.to - between.from > setup_.requirements.longest_interval.value) {
      evidence.recent.gaps.push_back(between);
    }
  }
  evidence.last_seen_at = window.last_seen_at;
  evidence.last_status = window.last_status;
  evidence.last_quality = window.last_quality;
  evidence.last_good = window.last_good;
  evidence.placed_at = channel.placed_at;
  evidence.calibration_due_at = channel.calibration_due_at;
  evidence.standard_uncertainty = standard_uncertainty_from(channel, setup_.delivered_at);
  return evidence;
}

RoomEvidence RoomReplay::evidence(UtcMicros now) const {
  RoomEvidence evidence;
  evidence.now = now;
  evidence.delivered_at = setup_.delivered_at;
  evidence.slab_poured_at = setup_.slab_poured_at;
  evidence.dwell = account_.state();
  if (stack_) {
    evidence.stack = stack_->result();
  }
  for (std::size_t i = 0; i < setup_.channels.size(); ++i) {
    evidence.channels.push_back(channel_evidence(i));
    const std::optional<UtcMicros>& seen = windows_[i].last_seen_at;
    if (seen && now - *seen > setup_.requirements.longest_interval.value &&
        (!evidence.probe_silent_since || *seen < *evidence.probe_silent_since)) {
      evidence.probe_silent_since = seen;
    }
  }
  return evidence;
}

}  // namespace analysis::readiness
