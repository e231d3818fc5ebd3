// Gates about the cartons and what a person saw: delivery, dwell, stack core, site.
#include <algorithm>
#include <cctype>
#include <cmath>

#include "analysis/readiness/gates/gate_parts.hpp"
#include "analysis/readiness/gates/gates.hpp"
#include "analysis/readiness/uncertainty/conformance.hpp"

namespace analysis::readiness::gates {
namespace {

// Source: common practice; long enough to smooth a draught over the cartons.
constexpr Micros kCoreWindow = base::micros_from_hours(1);
// The computed core moves in steps of this length, so its time is up to one of them old.
constexpr Micros kCoreStep = physics::kLongestStackSubstep;

void append_sentence(std::string& text, const std::string& sentence) {
  text += text.empty() ? sentence : " " + sentence;
}

std::string action_of(ReasonKey key, std::initializer_list<TextArgument> arguments) {
  return text_from(key, arguments).action;
}

std::string temperature_advice(const FloorRequirements& r, Celsius air) {
  const bool cold = air < r.temperature_low.value;
  if (!cold && air <= r.temperature_high.value) {
    return {};
  }
  const Celsius limit = cold ? r.temperature_low.value : r.temperature_high.value;
  const int decimals = decimals_between(air.value(), limit.value());
  return action_of(
      cold ? ReasonKey::advice_heat : ReasonKey::advice_cool,
      {{"value", text_from_celsius(air, decimals)}, {"limit", text_from_celsius(limit, decimals)}});
}

std::string humidity_advice(const FloorRequirements& r, RelativeHumidity air) {
  const bool dry = air < r.rh_low.value;
  if (!dry && air <= r.rh_high.value) {
    return {};
  }
  const RelativeHumidity limit = dry ? r.rh_low.value : r.rh_high.value;
  const int decimals = decimals_between(base::percent_from_rh(air), base::percent_from_rh(limit));
  return action_of(
      dry ? ReasonKey::advice_humidify : ReasonKey::advice_dry,
      {{"value", text_from_rh(air, decimals)}, {"limit", text_from_rh(limit, decimals)}});
}

// What to do about hours that are missing, from the newest reading.
std::string dwell_advice(const FloorRequirements& r, const DwellState& dwell, double hours_left) {
  const DwellSample& newest = *dwell.previous;
  if (!newest.temperature || !newest.rh) {
    return action_of(ReasonKey::advice_restore_readings, {});
  }
  std::string advice = temperature_advice(r, *newest.temperature);
  const std::string humidity = humidity_advice(r, *newest.rh);
  if (!humidity.empty()) {
    append_sentence(advice, humidity);
  }
  if (!advice.empty()) {
    return advice;
  }
  return action_of(ReasonKey::advice_keep, {{"low", text_from_celsius(r.temperature_low.value)},
                                            {"high", text_from_celsius(r.temperature_high.value)},
                                            {"rh_low", text_from_rh(r.rh_low.value)},
                                            {"rh_high", text_from_rh(r.rh_high.value)},
                                            {"left", text_from_hours_left(hours_left)}});
}

std::optional<double> air_temperature_uncertainty(const RoomEvidence& evidence) {
  const auto temperature = air_uncertainty_from(evidence).temperature;
  return temperature ? std::optional(temperature->value()) : std::nullopt;
}

// That the true air of the last required hours of the run, with one common error for each sensor,
// left the band it counts against.
std::optional<double> dwell_wrong_probability(const FloorRequirements& r,
                                              const RoomEvidence& evidence) {
  const auto seen = evidence.dwell.recent.extremes();
  const AirUncertainty air = air_uncertainty_from(evidence);
  if (!air.temperature || !air.rh || !seen) {
    return std::nullopt;
  }
  const double temperature = run_conformance_probability(
      {r.temperature_low.value.value(), r.temperature_high.value.value()},
      seen->temperature_min.value(), seen->temperature_max.value(), air.temperature->value());
  const double rh =
      run_conformance_probability({r.rh_low.value.value(), r.rh_high.value.value()},
                                  seen->rh_min.value(), seen->rh_max.value(), air.rh->value());
  return 1.0 - temperature * rh;
}

// " The band was drawn in ...", or nothing.
std::string band_guard_text(const FloorRequirements& r, const AirUncertainty& air) {
  if (guard_state_from(r, air) != GuardState::drawn_in) {
    return {};
  }
  return text_from(ReasonKey::dwell_guard_part,
                   {{"temperature", text_from_kelvin(base::KelvinDelta{kCoverageFactor *
                                                                       air.temperature->value()})},
                    {"rh", text_from_rh(RelativeHumidity{kCoverageFactor * air.rh->value()})},
                    {"decision_source", r.decision.source}})
      .reason;
}

// Cartons follow a room that is too cold itself no higher than it is.
std::string core_advice(const FloorRequirements& r, Celsius air) {
  return action_of(air < r.temperature_low.value ? ReasonKey::advice_heat_for_cartons
                                                 : ReasonKey::advice_give_time,
                   {});
}

GateResult core_result(const FloorRequirements& r, const RoomEvidence& evidence,
                       const ChannelEvidence& channel) {
  const std::string id = "stack_core";
  if (!gives_values(channel, evidence.now, r.longest_interval.value)) {
    return no_value_result(id, ReasonKey::core_no_value, channel, r, evidence.now);
  }
  const auto core = recent_values_from(channel, evidence.now, kCoreWindow, r.longest_interval.value,
                                       channel.placed_at);
  const auto air = air_values(base::ChannelRole::room_air_temperature, r, evidence);
  if (!core || !air) {
    return gate_from(id, GateState::unknown, ReasonKey::core_too_little,
                     {{"channel", channel.channel_id},
                      {"core_window", base::text_from_duration(kCoreWindow)},
                      {"air_window", base::text_from_duration(kAirWindow)}});
  }
  const auto uncertainty =
      combined_from(channel.standard_uncertainty, air_temperature_uncertainty(evidence));
  const auto guard = guard_from(r, uncertainty);
  if (!guard) {
    return no_accuracy_result(id, channel.channel_id + " and of the room air", r);
  }
  const double away = std::abs(core->mean - air->mean);
  const double within = r.core_within.value.value() - *guard;
  const std::string guard_text =
      guard_text_from(ReasonKey::guard_less_part, r, text_from_kelvin(base::KelvinDelta{*guard}),
                      text_from_kelvin(base::KelvinDelta{within}));
  const double lowest = r.temperature_low.value.value() - r.core_within.value.value();
  if (away > within) {
    const int decimals = decimals_between(away, within);
    return gate_from(id, GateState::not_met, ReasonKey::core_away_from_air,
                     {{"channel", channel.channel_id},
                      {"core", text_from_celsius(Celsius{core->mean})},
                      {"air", text_from_celsius(Celsius{air->mean})},
                      {"difference", text_from_kelvin(base::KelvinDelta{away}, decimals)},
                      {"advice", core_advice(r, Celsius{air->mean})},
                      {"within", text_from_kelvin(r.core_within.value, decimals)},
                      {"guard", guard_text},
                      {"source", r.core_within.source}});
  }
  const bool warm = core->mean >= lowest;
  const int decimals = warm ? 1 : decimals_between(core->mean, lowest);
  GateResult result =
      gate_from(id, warm ? GateState::met : GateState::not_met,
                warm ? ReasonKey::core_met : ReasonKey::core_too_cold,
                {{"channel", channel.channel_id},
                 {"core", text_from_celsius(Celsius{core->mean}, decimals)},
                 {"air", text_from_celsius(Celsius{air->mean})},
                 {"within", text_from_kelvin(r.core_within.value)},
                 {"guard", guard_text},
                 {"lowest", text_from_celsius(Celsius{lowest}, decimals)},
                 {"source", warm ? r.core_within.source : r.temperature_low.source}});
  if (warm && uncertainty) {
    const double allowed = r.core_within.value.value();
    result.wrong_probability =
        1.0 - conformance_probability({-allowed, allowed}, core->mean - air->mean, *uncertainty);
  }
  return result;
}

// The core as computed from the room air. The slowest material decides a yes, the fastest a no.
GateResult computed_core_result(const FloorRequirements& r, const RoomEvidence& evidence) {
  const StackResult& stack = *evidence.stack;
  const auto warm = [&](const StackCore& core) {
    return core.warm_at && stack.air_mean &&
           std::abs((core.temperature - *stack.air_mean).value()) <= r.core_within.value.value();
  };
  const bool all_warm = warm(stack.slow) && warm(stack.fast);
  const bool some_warm = warm(stack.slow) || warm(stack.fast);
  const bool too_much_unknown = stack.unknown_air_felt > r.longest_unknown.value;
  const bool stale = evidence.now - stack.at > r.longest_interval.value + kCoreStep;
  GateState state = all_warm ? GateState::met : some_warm ? GateState::unknown : GateState::not_met;
  ReasonKey key = all_warm    ? ReasonKey::core_computed_met
                  : some_warm ? ReasonKey::core_computed_unsure
                              : ReasonKey::core_computed_cold;
  if (too_much_unknown || stale || !stack.air_mean) {
    state = GateState::unknown;
    key = ReasonKey::core_computed_no_air;
  }
  const Celsius lowest{std::min(stack.fast.temperature, stack.slow.temperature)};
  const Celsius highest{std::max(stack.fast.temperature, stack.slow.temperature)};
  return gate_from("stack_core", state, key,
                   {{"lowest", text_from_celsius(lowest)},
                    {"highest", text_from_celsius(highest)},
                    {"air", stack.air_mean ? text_from_celsius(*stack.air_mean) : ""},
                    {"advice", stack.air_mean ? core_advice(r, *stack.air_mean) : ""},
                    {"unknown", base::text_from_duration(stack.unknown_air_felt)},
                    {"within", text_from_kelvin(r.core_within.value)},
                    {"source", r.core_within.source}});
}

// "ask the maker" as a sentence.
std::string sentence_from(std::string clause) {
  if (!clause.empty()) {
    clause.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(clause.front())));
    clause += '.';
  }
  return clause;
}

}  // namespace

GateResult delivery_gate(const RoomEvidence& evidence) {
  const std::string id = "delivery";
  if (!evidence.delivered_at) {
    return gate_from(id, GateState::unknown, ReasonKey::delivery_not_noted, {});
  }
  const bool there = *evidence.delivered_at <= evidence.now;
  return gate_from(id, there ? GateState::met : GateState::not_met,
                   there ? ReasonKey::delivery_met : ReasonKey::delivery_ahead,
                   {{"since", base::minute_text_from_utc(*evidence.delivered_at)}});
}

GateResult dwell_gate(const FloorRequirements& r, const RoomEvidence& evidence) {
  const std::string id = "dwell";
  const DwellState& dwell = evidence.dwell;
  if (!evidence.delivered_at) {
    return gate_from(id, GateState::unknown, ReasonKey::dwell_no_delivery, {});
  }
  if (*evidence.delivered_at > evidence.now) {
    return gate_from(id, GateState::not_met, ReasonKey::delivery_ahead,
                     {{"since", base::minute_text_from_utc(*evidence.delivered_at)}});
  }
  if (!dwell.previous) {
    return gate_from(id, GateState::unknown, ReasonKey::dwell_no_reading, {});
  }
  const AirUncertainty air = air_uncertainty_from(evidence);
  const GuardState guard = guard_state_from(r, air);
  if (guard == GuardState::accuracy_unknown) {
    return no_accuracy_result(id, "the room air sensors", r);
  }
  if (guard == GuardState::nothing_left) {
    return gate_from(
        id, GateState::unknown, ReasonKey::dwell_guard_too_wide,
        {{"temperature",
          text_from_kelvin(base::KelvinDelta{kCoverageFactor * air.temperature->value()})},
         {"rh", text_from_rh(RelativeHumidity{kCoverageFactor * air.rh->value()})},
         {"source", r.decision.source}});
  }
  const DwellAccount account(dwell_policy_from(r, air), dwell);
  const double done = dwell.in_band_seconds / 3600.0;
  const double required = base::hours_from(r.dwell.value);
  const double left = std::max(required - done, 0.0);
  const Micros trailing = trailing_unknown(r, evidence);
  const bool enough = dwell.in_band_seconds > 0.0 && account.enough();
  // The readings of the trailing time may still come in. Until they do, complete hours may have
  // been lost again and missing hours may have been made up.
  const double unknown_hours = dwell.unknown_run_seconds / 3600.0 + base::hours_from(trailing);
  const bool in_doubt =
      trailing > Micros{0} &&
      (enough ? !r.cumulative && unknown_hours > base::hours_from(r.longest_unknown.value)
              : done + base::hours_from(trailing) >= required);
  GateState state = enough ? GateState::met : GateState::not_met;
  ReasonKey key = enough             ? ReasonKey::dwell_met
                  : account.lapsed() ? ReasonKey::dwell_lapsed
                                     : ReasonKey::dwell_short;
  if (in_doubt) {
    state = GateState::unknown;
    key = ReasonKey::dwell_in_doubt;
  }
  GateResult result =
      gate_from(id, state, key,
                {{"done", text_from_hours_done(done)},
                 {"required", text_from_hours_done(required)},
                 {"left", text_from_hours_left(left)},
                 {"done_at", dwell.done_at ? base::minute_text_from_utc(*dwell.done_at) : ""},
                 {"age", base::text_from_duration(evidence.now - dwell.previous->at)},
                 {"advice", dwell_advice(r, dwell, left)},
                 {"guard", band_guard_text(r, air)},
                 {"source", r.dwell.source}});
  if (state == GateState::met) {
    result.wrong_probability = dwell_wrong_probability(r, evidence);
  }
  return result;
}

std::optional<GateResult> stack_core_gate(const FloorRequirements& r,
                                          const RoomEvidence& evidence) {
  std::vector<GateResult> results;
  for (const ChannelEvidence* channel :
       channels_with(base::ChannelRole::stack_core_temperature, evidence)) {
    if (r.core_probe_required || gives_values(*channel, evidence.now, r.longest_interval.value)) {
      results.push_back(core_result(r, evidence, *channel));
    }
  }
  if (!results.empty()) {
    return deciding_of(results);
  }
  if (!r.core_probe_required) {
    return evidence.stack ? std::optional(computed_core_result(r, evidence)) : std::nullopt;
  }
  return gate_from("stack_core", GateState::unknown, ReasonKey::core_missing, {});
}

GateResult site_gate(SiteGate gate, const FloorRequirements& r, const RoomEvidence& evidence) {
  const std::string id = "site." + std::string(name_of(gate));
  const std::string question = question_of(gate, r.flatness);
  const auto note =
      std::find_if(evidence.site_gates.begin(), evidence.site_gates.end(),
                   [&](const SiteGateNote& candidate) { return candidate.gate == gate; });
  if (note == evidence.site_gates.end()) {
    return gate_from(id, GateState::unknown, ReasonKey::site_not_noted, {{"question", question}});
  }
  const std::string more =
      note->grounds + (note->grounds.empty() || note->remark.empty() ? "" : "; ") + note->remark;
  const GateState state = note->open  ? GateState::unknown
                          : note->met ? GateState::met
                                      : GateState::not_met;
  return gate_from(id, state,
                   note->open  ? ReasonKey::site_open
                   : note->met ? ReasonKey::site_met
                               : ReasonKey::site_not_met,
                   {{"by", note->by},
                    {"date", text_from_date(note->at)},
                    {"remark", more.empty() ? "" : ": " + more},
                    {"question", question},
                    {"to_do", sentence_from(note->to_do)}});
}

}  // namespace analysis::readiness::gates
