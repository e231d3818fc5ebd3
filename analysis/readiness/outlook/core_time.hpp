// When the core of the stack is expected to have come to the room, as time_to_ready takes it. Pure.
#pragma once

#include <optional>

#include "analysis/readiness/room/time_to_ready.hpp"
#include "analysis/readiness/stack/stack_tracker.hpp"
#include "analysis/readiness/verdict.hpp"

namespace analysis::readiness::outlook {

struct CoreKnown {
  GateState gate = GateState::unknown;  // of the core; met: nothing to wait for
  std::optional<Celsius> air;           // mean, as the gate takes it
  std::optional<Celsius> lowest;        // that the gate asks of the core; nullopt = of none
  std::optional<UtcMicros> air_until;
  std::optional<StackTimeToWarm> to_warm;  // from air_until on; nullopt = not computed
};

// Early, likely and late are the times of fast, usual and slow material, the shortest first, never
// before `now`. room_too_cold where the gate is not met and the air is below `lowest`,
// core_disagrees where by the computation it is over and the gate is not met, not_modelled without
// a computation, too_far_off where one material is beyond its horizon.
[[nodiscard]] room::TimeOrReason core_time_from(const CoreKnown& core, UtcMicros now);

}  // namespace analysis::readiness::outlook
