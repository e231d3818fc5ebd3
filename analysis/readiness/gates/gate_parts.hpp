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

// By how much a limit is drawn in for a value with this standard uncertainty: nothing when the job
// decides simply; nullopt when it decides guarded and the uncertainty is not known.
[[nodiscard]] std::optional<double> guard_from(const FloorRequirements& requirements,
                                               std::optional<double> standard_uncertainty);

// " less 3.0 %RH of uncertainty = 72.0 %RH" or "plus", by `part`; nothing when the job decides
// simply. `rest`: the limit with the guard taken off or added.
[[nodiscard]] std::string guard_text_from(ReasonKey part, const FloorRequirements& requirements,
                                          const std::string& guard_with_unit,
                                          const std::string& rest_with_unit);

// Unknown, because guarded decisions need to know how accurate these channels are.
[[nodiscard]] GateResult no_accuracy_result(std::string id, const std::string& channels,
                                            const FloorRequirements& requirements);

[[nodiscard]] AirUncertainty air_uncertainty_from(const RoomEvidence& evidence);

// sqrt(a^2 + b^2) of independent errors; nullopt when one is not known.
[[nodiscard]] std::optional<double> combined_from(std::optional<double> a, std::optional<double> b);

[[nodiscard]] GateResult gate_from(std::string id, GateState state, ReasonKey key,
                                   std::initializer_list<TextArgument> arguments);

// The newest test with probes read by hand in sleeves, as a result of the gate "slab".
struct HandReadSlab {
  GateResult result;
  std::string date;
  std::string problems;  // empty where it counts
  std::optional<RelativeHumidity> highest;
};
// nullopt where none is noted. REQUIRES: a slab is required.
[[nodiscard]] std::optional<HandReadSlab> hand_read_slab_from(const FloorRequirements& requirements,
                                                              const RoomEvidence& evidence);

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
