// The room air of the last hours of a laid floor, from the log. Reads only.
#pragma once

#include <optional>

#include "analysis/readiness/service/service_air.hpp"
#include "logger/app/room/room_tracker.hpp"

namespace logger::app {

// Filled from the readings since the floor was laid, at most `over` before `now`. Cost: a pass over
// these.
[[nodiscard]] store::Result<analysis::readiness::ServiceAirWindow> service_window_from(
    store::ReadingStore& store, const Job& job, const RoomTracker& tracker, UtcMicros now);

// Its means at `now`; nullopt where the floor is not laid.
[[nodiscard]] store::Result<std::optional<analysis::readiness::ServiceAir>> service_air_from(
    store::ReadingStore& store, const Job& job, const RoomTracker& tracker, UtcMicros now);

}  // namespace logger::app
