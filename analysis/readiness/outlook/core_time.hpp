// When the core of the stack is expected to have come to the room, as time_to_ready takes it. Pure.
#pragma once

#include <optional>

#include "analysis/readiness/room/time_to_ready.hpp"
#include "analysis/readiness/stack/stack_tracker.hpp"

namespace analysis::readiness::outlook {

struct CoreKnown {
  bool met = false;  // the gate of the core is met: nothing to wait for
  std::optional<UtcMicros> air_until;
  std::optional<StackTimeToWarm> to_warm;  // from air_until on; nullopt = not computed
};

// Early, likely and late are those of the fast, usual and slow material, never before `now`.
// not_modelled without a computation, too_far_off where the slow material is beyond its horizon.
[[nodiscard]] room::TimeOrReason core_time_from(const CoreKnown& core, UtcMicros now);

}  // namespace analysis::readiness::outlook
