#include "analysis/readiness/gates/gate_parts.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "analysis/readiness/gates/gates.hpp"
#include "analysis/readiness/uncertainty/conformance.hpp"

namespace analysis::readiness::gates {

std::optional<double> guard_from(const FloorRequirements& requirements,
                                 std::optional<double> standard_uncertainty) {
  if (requirements.decision.value == DecisionRule::simple) {
    return 0.0;
  }
  return standard_uncertainty ? std::optional(kCoverageFactor * *standard_uncertainty)
                              : std::nullopt;
}

std::string guard_text_from(ReasonKey part, const FloorRequirements& requirements,
                            const std::string& guard_with_unit, const std::string& rest_with_unit) {
  if (requirements.decision.value == DecisionRule::simple) {
    return {};
  }
  return text_from(part, {{"guard", guard_with_unit}, {"rest", rest_with_unit}}).reason;
}

GateResult no_accuracy_result(std::string id, const std::string& channels,
                              const FloorRequirements& requirements) {
  return gate_from(std::move(id), GateState::unknown, ReasonKey::no_accuracy,
                   {{"channels", channels}, {"source", requirements.decision.source}});
}

AirUncertainty air_uncertainty_from(const RoomEvidence& evidence) {
  AirUncertainty air;
  for (const ChannelEvidence& channel : evidence.channels) {
    if (!channel.standard_uncertainty) {
      continue;
    }
    if (channel.role == base::ChannelRole::room_air_temperature) {
      air.temperature = base::KelvinDelta{*channel.standard_uncertainty};
    } else if (channel.role == base::ChannelRole::room_air_rh) {
      air.rh = RelativeHumidity{*channel.standard_uncertainty};
    }
  }
  return air;
}

std::optional<double> combined_from(std::optional<double> a, std::optional<double> b) {
  return a && b ? std::optional(std::hypot(*a, *b)) : std::nullopt;
}

GateResult gate_from(std::string id, GateState state, ReasonKey key,
                     std::initializer_list<TextArgument> arguments) {
  ReasonText text = text_from(key, arguments);
  return {std::move(id), state, std::move(text.reason), std::move(text.action), std::nullopt};
}

GateResult deciding_of(const std::vector<GateResult>& results) {
  const auto weight = [](GateState state) {
    return state == GateState::not_met ? 2 : state == GateState::unknown ? 1 : 0;
  };
  return *std::max_element(
      results.begin(), results.end(),
      [&](const GateResult& a, const GateResult& b) { return weight(a.state) < weight(b.state); });
}

std::vector<const ChannelEvidence*> channels_with(base::ChannelRole role,
                                                  const RoomEvidence& evidence) {
  std::vector<const ChannelEvidence*> found;
  for (const ChannelEvidence& channel : evidence.channels) {
    if (channel.role == role) {
      found.push_back(&channel);
    }
  }
  return found;
}

std::optional<WindowValues> air_values(base::ChannelRole role,
                                       const FloorRequirements& requirements,
                                       const RoomEvidence& evidence) {
  const auto channels = channels_with(role, evidence);
  if (channels.empty()) {
    return std::nullopt;
  }
  return recent_values_from(*channels.front(), evidence.now, kAirWindow,
                            requirements.longest_interval.value);
}

bool is_measured(std::string_view gate_id, const FloorRequirements& requirements,
                 const RoomEvidence& evidence) {
  if (gate_id == "stack_core") {
    const auto cores = channels_with(base::ChannelRole::stack_core_temperature, evidence);
    return requirements.core_probe_required ||
           std::any_of(cores.begin(), cores.end(), [&](const ChannelEvidence* core) {
             return gives_values(*core, evidence.now, requirements.longest_interval.value);
           });
  }
  static constexpr std::array<std::string_view, 6> kMeasured = {
      "dwell", "slab", "slab_emission", "slab_carbide", "wood_subfloor", "condensation"};
  return std::find(kMeasured.begin(), kMeasured.end(), gate_id) != kMeasured.end();
}

GateResult no_value_result(std::string id, ReasonKey key, const ChannelEvidence& channel,
                           const FloorRequirements& requirements, UtcMicros now) {
  return gate_from(std::move(id), GateState::unknown, key,
                   {{"channel", channel.channel_id},
                    {"age", text_from_age(channel.last_good, now)},
                    {"longest", base::text_from_duration(requirements.longest_interval.value)},
                    {"source", requirements.longest_interval.source},
                    {"status", std::string(channel.last_status == base::ChannelStatus::ok
                                               ? name_of(channel.last_quality)
                                               : base::name_of(channel.last_status))}});
}

}  // namespace analysis::readiness::gates
