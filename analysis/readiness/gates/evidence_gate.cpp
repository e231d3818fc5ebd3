// The gate about the evidence itself: is the box heard, are the sensors in calibration, is enough
// of the time known.
#include <algorithm>

#include "analysis/readiness/gates/gate_parts.hpp"
#include "analysis/readiness/gates/gates.hpp"

namespace analysis::readiness::gates {
namespace {

constexpr std::string_view kId = "evidence";
constexpr base::ChannelRole kAirRoles[] = {base::ChannelRole::room_air_temperature,
                                           base::ChannelRole::room_air_rh};

GateResult result(GateState state, ReasonKey key, std::initializer_list<TextArgument> arguments) {
  return gate_from(std::string(kId), state, key, arguments);
}

// Whether another gate decides by this channel.
bool is_used(const FloorRequirements& r, const RoomEvidence& evidence,
             const ChannelEvidence& channel) {
  switch (channel.role) {
    case base::ChannelRole::room_air_temperature:
    case base::ChannelRole::room_air_rh:
    case base::ChannelRole::slab_surface_temperature:
      return true;
    case base::ChannelRole::stack_core_temperature:
      return r.core_probe_required || gives_values(channel, evidence.now, r.longest_interval.value);
    case base::ChannelRole::slab_rh:
      return r.slab.has_value();
    default:
      return false;
  }
}

void append_silence(std::vector<GateResult>& results, const FloorRequirements& r,
                    const RoomEvidence& evidence) {
  const auto silent = [&](const std::string& box, UtcMicros since) {
    results.push_back(result(GateState::unknown, ReasonKey::evidence_box_silent,
                             {{"box", box},
                              {"age", base::text_from_duration(evidence.now - since)},
                              {"longest", base::text_from_duration(r.longest_interval.value)},
                              {"source", r.longest_interval.source}}));
  };
  for (const ChannelEvidence& channel : evidence.channels) {
    if (!channel.last_seen_at) {
      results.push_back(result(GateState::unknown, ReasonKey::evidence_box_never_heard,
                               {{"box", channel.box_id}}));
    } else if (evidence.now - *channel.last_seen_at > r.longest_interval.value) {
      silent(channel.box_id, *channel.last_seen_at);
    }
  }
  if (results.empty() && evidence.probe_silent_since) {
    silent("of this room", *evidence.probe_silent_since);
  }
}

void append_room_air(std::vector<GateResult>& results, const FloorRequirements& r,
                     const RoomEvidence& evidence) {
  for (const base::ChannelRole role : kAirRoles) {
    const auto channels = channels_with(role, evidence);
    if (channels.empty()) {
      results.push_back(result(GateState::unknown, ReasonKey::evidence_no_air_channel,
                               {{"role", std::string(base::name_of(role))}}));
    } else if (!gives_values(*channels.front(), evidence.now, r.longest_interval.value)) {
      results.push_back(no_value_result(std::string(kId), ReasonKey::evidence_no_air_value,
                                        *channels.front(), r, evidence.now));
    }
  }
}

void append_calibration(std::vector<GateResult>& results, const FloorRequirements& r,
                        const RoomEvidence& evidence) {
  std::string over;
  std::string none;
  UtcMicros first_due = evidence.now;
  const auto append = [](std::string& names, const std::string& name) {
    names += (names.empty() ? "" : ", ") + name;
  };
  for (const ChannelEvidence& channel : evidence.channels) {
    if (!is_used(r, evidence, channel)) {
      continue;
    }
    if (!channel.calibration_due_at) {
      append(none, channel.channel_id);
    } else if (*channel.calibration_due_at < evidence.now) {
      append(over, channel.channel_id);
      first_due = std::min(first_due, *channel.calibration_due_at);
    }
  }
  if (!over.empty()) {
    results.push_back(result(GateState::not_met, ReasonKey::evidence_calibration_over,
                             {{"channels", over}, {"date", text_from_date(first_due)}}));
  }
  if (!none.empty()) {
    results.push_back(
        result(GateState::unknown, ReasonKey::evidence_calibration_unknown, {{"channels", none}}));
  }
}

GateResult share_result(const FloorRequirements& r, const RoomEvidence& evidence) {
  const DwellState& dwell = evidence.dwell;
  if (evidence.delivered_at && *evidence.delivered_at > evidence.now) {
    return result(GateState::unknown, ReasonKey::delivery_ahead,
                  {{"since", base::minute_text_from_utc(*evidence.delivered_at)}});
  }
  if (!dwell.first_at || !evidence.delivered_at) {
    return result(GateState::unknown, ReasonKey::evidence_no_record, {});
  }
  const double share = unknown_share_of(r, evidence);
  const double limit = r.unknown_share.value;
  const bool enough = share <= limit;
  const int decimals = enough ? 1 : decimals_between(share * 100.0, limit * 100.0);
  // Too little evidence proves nothing either way, so it is no "no".
  return result(
      enough ? GateState::met : GateState::unknown,
      enough ? ReasonKey::evidence_met : ReasonKey::evidence_too_much_unknown,
      {{"from", base::minute_text_from_utc(dwell.run_started_at.value_or(*dwell.first_at))},
       {"share", text_from_share(share, decimals)},
       {"limit", text_from_share(limit, decimals)},
       {"source", r.unknown_share.source}});
}

}  // namespace

Micros trailing_unknown(const FloorRequirements& r, const RoomEvidence& evidence) {
  if (!evidence.dwell.previous) {
    return Micros{0};
  }
  const Micros age = evidence.now - evidence.dwell.previous->at;
  return age > r.longest_interval.value ? age : Micros{0};
}

double unknown_share_of(const FloorRequirements& r, const RoomEvidence& evidence) {
  const DwellState& dwell = evidence.dwell;
  if (!dwell.first_at || !dwell.previous) {
    return 1.0;
  }
  const Micros trailing = trailing_unknown(r, evidence);
  const UtcMicros from = dwell.run_started_at.value_or(*dwell.first_at);
  const double span = base::hours_from(dwell.previous->at + trailing - from);
  const double unknown =
      (dwell.run_started_at ? dwell.unknown_run_seconds : dwell.total_unknown_seconds) / 3600.0 +
      base::hours_from(trailing);
  return span > 0.0 ? unknown / span : 1.0;
}

GateResult evidence_gate(const FloorRequirements& r, const RoomEvidence& evidence) {
  std::vector<GateResult> results;
  append_silence(results, r, evidence);
  append_room_air(results, r, evidence);
  append_calibration(results, r, evidence);
  results.push_back(share_result(r, evidence));
  return deciding_of(results);
}

}  // namespace analysis::readiness::gates
