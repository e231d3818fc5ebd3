// What the rules look at, made of what the daemon knows.
#pragma once

#include <filesystem>
#include <optional>
#include <vector>

#include "analysis/alerts/observations.hpp"
#include "analysis/alerts/telling_policy.hpp"
#include "logger/app/room/room_tracker.hpp"

namespace logger::app {

// REQUIRES: step.air.
[[nodiscard]] analysis::alerts::AirReading air_reading_from(
    const RoomTracker& room, const analysis::readiness::ReplayStep& step);

// The newest one there is, however it came; nullopt where there is none.
[[nodiscard]] std::optional<analysis::alerts::AirReading> newest_air_of(
    const RoomTracker& room, const analysis::readiness::RoomEvidence& evidence);

[[nodiscard]] analysis::alerts::ChannelObservation channel_observation_from(
    const analysis::readiness::ChannelEvidence& channel,
    const analysis::readiness::FloorRequirements& requirements, UtcMicros now);

// This machine's clock and the disk of that file; a simulated site has neither.
[[nodiscard]] analysis::alerts::LoggerObservation logger_observation_from(
    const std::filesystem::path& store_file, bool simulated, Micros clock_step);

// The values of the message that a telling comes from; none for reminder and escalation, whose
// values would be old.
[[nodiscard]] std::vector<analysis::alerts::AlertValue> values_of(
    const std::vector<analysis::alerts::AlertMessage>& messages,
    const analysis::alerts::PlannedTelling& telling);

}  // namespace logger::app
