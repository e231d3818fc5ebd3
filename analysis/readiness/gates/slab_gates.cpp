// Gates about the slab: RH at depth, age, condensation on its surface.
#include <utility>

#include "analysis/base/day_end.hpp"
#include "analysis/physics/psychrometrics.hpp"
#include "analysis/readiness/gates/gate_parts.hpp"
#include "analysis/readiness/gates/gates.hpp"
#include "analysis/readiness/uncertainty/conformance.hpp"
#include "analysis/readiness/uncertainty/margin_uncertainty.hpp"

namespace analysis::readiness::gates {
namespace {

// While it settles a probe shows the air it was placed in, mostly drier than the slab. REQUIRES: it
// was placed.
std::optional<WindowValues> settled_values(const FloorRequirements& r, const RoomEvidence& evidence,
                                           const ChannelEvidence& channel) {
  return recent_values_from(channel, evidence.now, r.slab->averaging.value,
                            r.longest_interval.value, *channel.placed_at + r.slab->settle.value);
}

GateResult slab_result(const FloorRequirements& r, const RoomEvidence& evidence,
                       const ChannelEvidence& channel) {
  const std::string id = "slab";
  const SlabRequirements& slab = *r.slab;
  if (!channel.placed_at) {
    return gate_from(id, GateState::unknown, ReasonKey::slab_not_placed,
                     {{"channel", channel.channel_id},
                      {"settle", base::text_from_duration(slab.settle.value)},
                      {"source", slab.settle.source}});
  }
  const Micros placed_for = evidence.now - *channel.placed_at;
  if (placed_for < slab.settle.value) {
    return gate_from(id, GateState::unknown, ReasonKey::slab_settling,
                     {{"channel", channel.channel_id},
                      {"age", base::text_from_duration(placed_for)},
                      {"settle", base::text_from_duration(slab.settle.value)},
                      {"source", slab.settle.source}});
  }
  if (!gives_values(channel, evidence.now, r.longest_interval.value)) {
    return no_value_result(id, ReasonKey::slab_no_value, channel, r, evidence.now);
  }
  const auto values = settled_values(r, evidence, channel);
  const std::string averaging = base::text_from_duration(slab.averaging.value);
  if (!values) {
    return gate_from(id, GateState::unknown, ReasonKey::slab_too_little,
                     {{"channel", channel.channel_id},
                      {"averaging", averaging},
                      {"source", slab.averaging.source}});
  }
  const auto guard = guard_from(r, channel.standard_uncertainty);
  if (!guard) {
    return no_accuracy_result(id, channel.channel_id, r);
  }
  const RelativeHumidity mean{values->mean};
  const double highest = slab.rh_high.value.value() - *guard;
  const bool dry = mean.value() <= highest;
  const int decimals = dry ? 1 : decimals_between(base::percent_from_rh(mean), 100.0 * highest);
  GateResult result =
      gate_from(id, dry ? GateState::met : GateState::not_met,
                dry ? ReasonKey::slab_met : ReasonKey::slab_too_wet,
                {{"channel", channel.channel_id},
                 {"value", text_from_rh(mean, decimals)},
                 {"averaging", averaging},
                 {"limit", text_from_rh(slab.rh_high.value, decimals)},
                 {"guard", guard_text_from(ReasonKey::guard_less_part, r,
                                           text_from_rh(RelativeHumidity{*guard}),
                                           text_from_rh(RelativeHumidity{highest}, decimals))},
                 {"source", slab.rh_high.source}});
  if (dry && channel.standard_uncertainty) {
    result.wrong_probability =
        1.0 - conformance_probability({std::nullopt, slab.rh_high.value.value()}, mean.value(),
                                      *channel.standard_uncertainty);
  }
  return result;
}

// What must hold beside the readings; nullopt where it does, or the job asks for nothing.
std::optional<GateResult> slab_conditions_result(const SlabRequirements& slab,
                                                 const RoomEvidence& evidence, std::size_t probes) {
  if (probes == 0) {
    return std::nullopt;  // a missing probe says so itself
  }
  if (slab.probes_at_least && std::cmp_less(probes, slab.probes_at_least->value)) {
    return gate_from("slab", GateState::unknown, ReasonKey::slab_too_few_probes,
                     {{"probes", std::to_string(probes)},
                      {"limit", std::to_string(slab.probes_at_least->value)},
                      {"source", slab.probes_at_least->source}});
  }
  const auto& service = slab.service_conditions;
  if (service && evidence.dwell.in_band_seconds < base::hours_from(service->value) * 3600.0) {
    return gate_from("slab", GateState::unknown, ReasonKey::slab_not_in_service,
                     {{"done", text_from_hours_done(evidence.dwell.in_band_seconds / 3600.0)},
                      {"limit", text_from_hours_done(base::hours_from(service->value))},
                      {"source", service->source}});
  }
  return std::nullopt;
}

// The highest mean of the probes that stay in the slab and may be read.
std::optional<RelativeHumidity> highest_mean(const FloorRequirements& r,
                                             const RoomEvidence& evidence) {
  std::optional<RelativeHumidity> highest;
  for (const ChannelEvidence* channel : channels_with(base::ChannelRole::slab_rh, evidence)) {
    const auto values = channel->placed_at ? settled_values(r, evidence, *channel) : std::nullopt;
    if (values && (!highest || values->mean > highest->value())) {
      highest = RelativeHumidity{values->mean};
    }
  }
  return highest;
}

// Probes that stay in the slab beside those read by hand: the higher value decides, and a test that
// does not count decides nothing.
GateResult higher_of(GateResult channels, HandReadSlab by_hand,
                     std::optional<RelativeHumidity> mean) {
  const auto with = [](GateResult result, ReasonKey part,
                       std::initializer_list<TextArgument> arguments) {
    result.reason += text_from(part, arguments).reason;
    return result;
  };
  const TextArgument date{"date", by_hand.date};
  if (by_hand.result.state == GateState::unknown) {
    return with(std::move(channels), ReasonKey::slab_hand_unusable_part,
                {date, {"problems", by_hand.problems}});
  }
  const bool channels_tell = channels.state != GateState::unknown && mean.has_value();
  if (!channels_tell && by_hand.result.state == GateState::not_met) {
    return by_hand.result;
  }
  const std::string value = text_from_rh(*by_hand.highest);
  if (!channels_tell) {
    return with(std::move(channels), ReasonKey::slab_hand_beside_part, {date, {"value", value}});
  }
  return *by_hand.highest > *mean
             ? with(std::move(by_hand.result), ReasonKey::slab_channel_lower_part,
                    {{"value", text_from_rh(*mean)}})
             : with(std::move(channels), ReasonKey::slab_hand_lower_part, {date, {"value", value}});
}

GateResult condensation_result(const FloorRequirements& r, const RoomEvidence& evidence,
                               const ChannelEvidence& channel) {
  const std::string id = "condensation";
  const std::string& source = r.condensation_margin.source;
  const auto surface = recent_values_from(channel, evidence.now, kAirWindow,
                                          r.longest_interval.value, channel.placed_at);
  const auto temperature = air_values(base::ChannelRole::room_air_temperature, r, evidence);
  const auto rh = air_values(base::ChannelRole::room_air_rh, r, evidence);
  if (!surface || !temperature || !rh) {
    return gate_from(id, GateState::unknown, ReasonKey::condensation_too_little,
                     {{"channel", channel.channel_id},
                      {"window", base::text_from_duration(kAirWindow)},
                      {"limit", text_from_kelvin(r.condensation_margin.value)},
                      {"source", source}});
  }
  const Celsius air{temperature->mean};
  const RelativeHumidity humidity{rh->mean};
  const auto dew_point = physics::dew_point_from_rh(air, humidity);
  if (!dew_point) {
    return gate_from(id, GateState::unknown, ReasonKey::condensation_no_dew_point,
                     {{"channel", channel.channel_id},
                      {"air", text_from_celsius(air)},
                      {"rh", text_from_rh(humidity)},
                      {"limit", text_from_kelvin(r.condensation_margin.value)},
                      {"source", source}});
  }
  const Celsius coldest{surface->lowest};
  const base::KelvinDelta margin = coldest - dew_point.value();
  const auto of_margin =
      channel.standard_uncertainty
          ? margin_uncertainty_from({air, humidity, air_uncertainty_from(evidence),
                                     base::KelvinDelta{*channel.standard_uncertainty}})
          : std::nullopt;
  const auto uncertainty = of_margin ? std::optional(of_margin->value()) : std::nullopt;
  const auto guard = guard_from(r, uncertainty);
  if (!guard) {
    return no_accuracy_result(id, channel.channel_id + " and of the room air", r);
  }
  const double least = r.condensation_margin.value.value() + *guard;
  const bool enough = margin.value() >= least;
  const int decimals = enough ? 1 : decimals_between(margin.value(), least);
  GateResult result =
      gate_from(id, enough ? GateState::met : GateState::not_met,
                enough ? ReasonKey::condensation_met : ReasonKey::condensation_risk,
                {{"channel", channel.channel_id},
                 {"surface", text_from_celsius(coldest)},
                 {"dew", text_from_celsius(dew_point.value())},
                 {"margin", text_from_kelvin(margin, decimals)},
                 {"limit", text_from_kelvin(r.condensation_margin.value, decimals)},
                 {"guard", guard_text_from(ReasonKey::guard_plus_part, r,
                                           text_from_kelvin(base::KelvinDelta{*guard}),
                                           text_from_kelvin(base::KelvinDelta{least}, decimals))},
                 {"source", source}});
  if (enough && uncertainty) {
    result.wrong_probability =
        1.0 - conformance_probability({r.condensation_margin.value.value(), std::nullopt},
                                      margin.value(), *uncertainty);
  }
  return result;
}

}  // namespace

std::optional<GateResult> slab_gate(const FloorRequirements& r, const RoomEvidence& evidence) {
  if (!r.slab) {
    return std::nullopt;
  }
  std::vector<GateResult> results;
  for (const ChannelEvidence* channel : channels_with(base::ChannelRole::slab_rh, evidence)) {
    results.push_back(slab_result(r, evidence, *channel));
  }
  if (auto conditions = slab_conditions_result(*r.slab, evidence, results.size())) {
    results.push_back(std::move(*conditions));
  }
  auto by_hand = hand_read_slab_from(r, evidence);
  if (!results.empty()) {
    GateResult channels = deciding_of(results);
    return by_hand ? higher_of(std::move(channels), std::move(*by_hand), highest_mean(r, evidence))
                   : std::move(channels);
  }
  if (by_hand) {
    return std::move(by_hand->result);
  }
  return gate_from(
      "slab", GateState::unknown, ReasonKey::slab_missing,
      {{"limit", text_from_rh(r.slab->rh_high.value)}, {"source", r.slab->rh_high.source}});
}

std::optional<GateResult> slab_age_gate(const FloorRequirements& r, const RoomEvidence& evidence) {
  if (!r.slab) {
    return std::nullopt;
  }
  const std::string id = "slab_age";
  const Limit<Micros>& minimum = r.slab->minimum_age;
  const TextArgument limit{"limit", text_from_days(minimum.value)};
  const TextArgument source{"source", minimum.source};
  if (!evidence.slab_poured_at) {
    return gate_from(id, GateState::unknown, ReasonKey::slab_age_unknown, {limit, source});
  }
  const Micros age = evidence.now - *evidence.slab_poured_at;
  const bool old_enough = age >= minimum.value;
  return gate_from(
      id, old_enough ? GateState::met : GateState::not_met,
      old_enough ? ReasonKey::slab_age_met : ReasonKey::slab_too_young,
      {{"age", text_from_days(age)},
       limit,
       source,
       {"date", base::day_end_or_minute_text(*evidence.slab_poured_at + minimum.value)}});
}

std::optional<GateResult> condensation_gate(const FloorRequirements& r,
                                            const RoomEvidence& evidence) {
  std::vector<GateResult> results;
  for (const ChannelEvidence* channel :
       channels_with(base::ChannelRole::slab_surface_temperature, evidence)) {
    results.push_back(condensation_result(r, evidence, *channel));
  }
  if (!results.empty()) {
    return deciding_of(results);
  }
  if (!r.slab) {
    return std::nullopt;
  }
  return gate_from("condensation", GateState::unknown, ReasonKey::condensation_no_surface,
                   {{"limit", text_from_kelvin(r.condensation_margin.value)},
                    {"source", r.condensation_margin.source}});
}

}  // namespace analysis::readiness::gates
