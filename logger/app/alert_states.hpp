// Alert instances as the store keeps them, and what the rules look at.
#pragma once

#include <vector>

#include "analysis/alerts/alert_rules.hpp"
#include "logger/app/room/room_tracker.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::app {

[[nodiscard]] store::Result<std::vector<analysis::alerts::Alert>> alerts_from_store(
    store::ReadingStore& store);
[[nodiscard]] store::AlertState row_from_alert(const analysis::alerts::Alert& alert);

// REQUIRES: `assessment` outlives the observation. `reset`: dwell was reset since the step before.
[[nodiscard]] analysis::alerts::RoomObservation room_observation_from(
    const RoomTracker& room, const analysis::readiness::RoomAssessment& assessment, bool reset,
    UtcMicros now);

// One for each channel of the room.
[[nodiscard]] std::vector<analysis::alerts::ChannelObservation> channel_observations_from(
    const RoomTracker& room, UtcMicros now);

}  // namespace logger::app
