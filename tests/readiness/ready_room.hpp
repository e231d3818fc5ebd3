// A room in which every gate is met, for tests to spoil one thing at a time.
#pragma once

#include <string>

#include "analysis/readiness/verdict.hpp"

namespace ready_room {

using namespace analysis::readiness;
using analysis::base::ChannelRole;
using analysis::base::micros_from_hours;

inline constexpr UtcMicros kNow{1'770'000'000'000'000};  // 2026-02-02T02:40:00Z

// Readings every five minutes over the last `hours`, all at `value`.
inline analysis::base::Series steady(double value, double hours, UtcMicros newest = kNow) {
  analysis::base::Series series;
  for (double h = hours; h >= 0.0; h -= 1.0 / 12.0) {
    series.points.push_back({newest - micros_from_hours(h), value});
  }
  return series;
}

inline ChannelEvidence channel(std::string id, ChannelRole role, double value,
                               UtcMicros newest = kNow) {
  ChannelEvidence evidence;
  evidence.box_id = "box-1";
  evidence.channel_id = std::move(id);
  evidence.role = role;
  evidence.recent = steady(value, 24.0, newest);
  evidence.last_seen_at = newest;
  evidence.last_status = analysis::base::ChannelStatus::ok;
  evidence.last_quality = Quality::good;
  evidence.last_good = evidence.recent.points.back();
  evidence.placed_at = kNow - micros_from_hours(100);
  evidence.calibration_due_at = kNow + micros_from_hours(1000);
  return evidence;
}

inline FloorRequirements requirements() {
  FloorRequirements required;
  required.slab = SlabRequirements{};
  return required;
}

inline RoomEvidence evidence() {
  RoomEvidence room;
  room.now = kNow;
  room.delivered_at = kNow - micros_from_hours(60);
  room.slab_poured_at = kNow - micros_from_hours(24 * 90.0);
  room.dwell.in_band_seconds = 50.0 * 3600.0;
  room.dwell.total_in_seconds = room.dwell.in_band_seconds;
  room.dwell.counting = true;
  room.dwell.first_at = kNow - micros_from_hours(50);
  room.dwell.run_started_at = room.dwell.first_at;
  room.dwell.done_at = kNow - micros_from_hours(2);
  room.dwell.previous = DwellSample{kNow, Celsius{20.0}, RelativeHumidity{0.5}};
  room.channels = {channel("air-t", ChannelRole::room_air_temperature, 20.0),
                   channel("air-rh", ChannelRole::room_air_rh, 0.5),
                   channel("core-t", ChannelRole::stack_core_temperature, 19.6),
                   channel("slab-t", ChannelRole::slab_surface_temperature, 18.0),
                   channel("slab-rh", ChannelRole::slab_rh, 0.72)};
  for (const SiteGate gate : all_site_gates()) {
    room.site_gates.push_back({gate, true, "A. Layer", "", kNow - micros_from_hours(70)});
  }
  return room;
}

inline ChannelEvidence& channel_of(RoomEvidence& room, const std::string& id) {
  for (ChannelEvidence& candidate : room.channels) {
    if (candidate.channel_id == id) {
      return candidate;
    }
  }
  std::abort();
}

inline void remove_channel(RoomEvidence& room, const std::string& id) {
  std::erase_if(room.channels, [&](const ChannelEvidence& c) { return c.channel_id == id; });
}

// The channel has read `value` for the last 24 h up to `newest`.
inline void set_readings(RoomEvidence& room, const std::string& id, double value,
                         UtcMicros newest = kNow) {
  ChannelEvidence& found = channel_of(room, id);
  found.recent = steady(value, 24.0, newest);
  found.last_good = found.recent.points.back();
}

inline const GateResult* find_gate(const RoomAssessment& assessment, const std::string& id) {
  for (const GateResult& gate : assessment.gates) {
    if (gate.id == id) {
      return &gate;
    }
  }
  return nullptr;
}

inline GateResult gate_of(const RoomAssessment& assessment, const std::string& id) {
  const GateResult* gate = find_gate(assessment, id);
  return gate != nullptr ? *gate : GateResult{"no gate " + id, GateState::unknown, "", ""};
}

}  // namespace ready_room
