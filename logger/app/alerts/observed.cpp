#include "logger/app/alerts/observed.hpp"

#include <algorithm>

#include "logger/app/commands/inspect/surroundings.hpp"

namespace logger::app {

using analysis::alerts::AirReading;
using analysis::alerts::ChannelObservation;
using analysis::alerts::LoggerObservation;
using analysis::base::ChannelRole;
using analysis::base::ChannelStatus;

namespace {

// All but the values.
AirReading air_reading_at(const RoomTracker& room, UtcMicros at) {
  const auto& replay = room.replay();
  const auto& policy = replay.policy();
  AirReading reading;
  reading.room_id = room.room_id();
  reading.at = at;
  reading.band = policy.band;
  reading.longest_interval = policy.longest_interval;
  reading.dwell_counting = replay.dwell().counting;
  reading.dwell_done_hours = replay.dwell().in_band_seconds / 3600.0;
  reading.dwell_left_hours =
      std::max(analysis::base::hours_from(policy.required) - reading.dwell_done_hours, 0.0);
  reading.laid = room.notes().laid_at && at >= *room.notes().laid_at;
  return reading;
}

}  // namespace

AirReading air_reading_from(const RoomTracker& room, const analysis::readiness::ReplayStep& step) {
  AirReading reading = air_reading_at(room, step.air->at);
  reading.temperature = step.air->temperature;
  reading.rh = step.air->rh;
  reading.dwell_was_reset = !step.resets.empty();
  return reading;
}

std::optional<AirReading> newest_air_of(const RoomTracker& room,
                                        const analysis::readiness::RoomEvidence& evidence) {
  std::optional<UtcMicros> at;
  for (const auto& channel : evidence.channels) {
    if (is_room_air(channel.role) && channel.last_seen_at) {
      at = std::max(at.value_or(*channel.last_seen_at), *channel.last_seen_at);
    }
  }
  if (!at) {
    return std::nullopt;
  }
  AirReading reading = air_reading_at(room, *at);
  for (const auto& channel : evidence.channels) {
    if (!channel.last_good || channel.last_good->at != *at) {
      continue;
    }
    if (channel.role == ChannelRole::room_air_temperature) {
      reading.temperature = analysis::base::Celsius{channel.last_good->value};
    } else if (channel.role == ChannelRole::room_air_rh) {
      reading.rh = analysis::base::RelativeHumidity{channel.last_good->value};
    }
  }
  return reading;
}

ChannelObservation channel_observation_from(
    const analysis::readiness::ChannelEvidence& channel,
    const analysis::readiness::FloorRequirements& requirements, UtcMicros now) {
  const bool heard =
      channel.last_seen_at && now - *channel.last_seen_at <= requirements.longest_interval.value;
  const bool status_ok = channel.last_status == ChannelStatus::ok;
  ChannelObservation seen;
  seen.channel_id = channel.channel_id;
  seen.quality =
      std::string(status_ok ? name_of(channel.last_quality) : name_of(channel.last_status));
  if (heard) {
    seen.usable = channel.last_quality == analysis::readiness::Quality::good;
  }
  if (channel.last_good) {
    seen.last_good_at = channel.last_good->at;
  }
  if (channel.role != ChannelRole::supply_voltage) {  // no decision rests on it
    seen.calibration_due_at = channel.calibration_due_at;
  }
  if (channel.role == ChannelRole::slab_rh && requirements.slab && channel.placed_at) {
    const UtcMicros settled = *channel.placed_at + requirements.slab->settle.value;
    std::copy_if(channel.recent.points.begin(), channel.recent.points.end(),
                 std::back_inserter(seen.settled_slab_rh),
                 [settled](const auto& point) { return point.at >= settled; });
  }
  return seen;
}

LoggerObservation logger_observation_from(const std::filesystem::path& store_file, bool simulated,
                                          Micros clock_step) {
  LoggerObservation seen;
  seen.clock_step = clock_step;
  if (simulated) {
    return seen;
  }
  seen.clock_synchronised = read_clock(std::nullopt).synchronised;
  std::error_code fault;
  const auto disk = std::filesystem::space(store_file.parent_path(), fault);
  if (!fault) {
    seen.free_bytes = static_cast<std::int64_t>(disk.available);
    seen.disk_bytes = static_cast<std::int64_t>(disk.capacity);
  }
  const auto bytes = std::filesystem::file_size(store_file, fault);
  seen.store_bytes = fault ? 0 : static_cast<std::int64_t>(bytes);
  return seen;
}

std::vector<analysis::alerts::AlertValue> values_of(
    const std::vector<analysis::alerts::AlertMessage>& messages,
    const analysis::alerts::PlannedTelling& telling) {
  using analysis::alerts::TellingKind;
  if (telling.kind != TellingKind::fired && telling.kind != TellingKind::cleared) {
    return {};
  }
  const auto found = std::find_if(messages.begin(), messages.end(), [&](const auto& message) {
    return message.kind == telling.rule && message.subject == telling.subject &&
           message.at == telling.at && name_of(message.transition) == name_of(telling.kind);
  });
  return found == messages.end() ? std::vector<analysis::alerts::AlertValue>{} : found->values;
}

}  // namespace logger::app
