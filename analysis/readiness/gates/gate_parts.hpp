// What the gates share: building a result from its text, finding channels, the room air's means.
#pragma once

#include <initializer_list>
#include <optional>
#include <string>
#include <vector>

#include "analysis/readiness/channel_window.hpp"
#include "analysis/readiness/reason_texts.hpp"
#include "analysis/readiness/requirements.hpp"
#include "analysis/readiness/verdict.hpp"

namespace analysis::readiness::gates {

// The room air is averaged over this time before anything is compared with it, so that an opened
// window does not decide. Source: common practice.
inline constexpr Micros kAirWindow = base::micros_from_hours(3);

[[nodiscard]] GateResult gate_from(std::string id, GateState state, ReasonKey key,
                                   std::initializer_list<TextArgument> arguments);

// Of several results for one gate the one that decides: not met before unknown before met, the
// first of equals. REQUIRES: at least one.
[[nodiscard]] GateResult deciding_of(const std::vector<GateResult>& results);

[[nodiscard]] std::vector<const ChannelEvidence*> channels_with(base::ChannelRole role,
                                                                const RoomEvidence& evidence);

// The room air over kAirWindow; nullopt where there is no channel or less than half of that time.
[[nodiscard]] std::optional<WindowValues> air_values(base::ChannelRole role,
                                                     const FloorRequirements& requirements,
                                                     const RoomEvidence& evidence);

// Unknown, because the channel has given no good value for longer than the longest interval.
[[nodiscard]] GateResult no_value_result(std::string id, ReasonKey key,
                                         const ChannelEvidence& channel,
                                         const FloorRequirements& requirements, UtcMicros now);

}  // namespace analysis::readiness::gates
