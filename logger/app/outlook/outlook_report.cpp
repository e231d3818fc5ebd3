#include "logger/app/outlook/outlook_report.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "analysis/certificate/cautions.hpp"
#include "analysis/readiness/gates/gate_parts.hpp"
#include "analysis/readiness/gates/gates.hpp"
#include "analysis/readiness/outlook/core_time.hpp"
#include "analysis/readiness/uncertainty/conformance.hpp"
#include "analysis/readiness/uncertainty/margin_uncertainty.hpp"
#include "logger/app/outlook/sections/room_sections.hpp"
#include "logger/app/room/rooms_asked.hpp"

namespace logger::app {

using analysis::base::Celsius;
using analysis::base::ChannelRole;
using analysis::base::RelativeHumidity;
using analysis::readiness::ChannelSetup;
using analysis::readiness::GateResult;
using analysis::readiness::GateState;
using analysis::readiness::kCoverageFactor;
using analysis::readiness::SensorUncertainty;
using analysis::readiness::room::RoomStep;
using analysis::readiness::room::StepKind;
using store::Failure;
using store::Result;

namespace {

analysis::base::Series recent_of(ChannelRole role, const RoomFacts& facts) {
  const auto channels = analysis::readiness::gates::channels_with(role, facts.evidence);
  return channels.empty() ? analysis::base::Series{} : channels.front()->recent;
}

// The guard that the gate of the channel takes, where the room has such a gate.
std::optional<GuardLine> guard_from(const RoomFacts& facts, const ChannelUncertainty& channel) {
  const double own = channel.parts.combined();
  const auto line = [&](const std::string& limit, double standard, bool added = false) {
    return GuardLine{limit, kCoverageFactor * standard, std::string(file_unit_of(channel.role)),
                     added};
  };
  const auto air = analysis::readiness::gates::air_uncertainty_from(facts.evidence);
  switch (channel.role) {
    case ChannelRole::room_air_temperature:
      return line("each end of the temperature band", own);
    case ChannelRole::room_air_rh:
      return line("each end of the RH band", own);
    case ChannelRole::slab_rh:
      return facts.room.requirements.slab
                 ? std::optional(line("the slab's RH limit (" + channel.channel_id + ")", own))
                 : std::nullopt;
    case ChannelRole::stack_core_temperature:
      return air.temperature ? std::optional(line("the distance of the core from the room air (" +
                                                      channel.channel_id + ")",
                                                  std::hypot(own, air.temperature->value())))
                             : std::nullopt;
    case ChannelRole::slab_surface_temperature: {
      const auto temperature = air_temperature_now(facts);
      const auto rh = air_rh_now(facts);
      const auto margin = temperature && rh
                              ? analysis::readiness::margin_uncertainty_from(
                                    {*temperature, *rh, air, analysis::base::KelvinDelta{own}})
                              : std::nullopt;
      return margin
                 ? std::optional(line("the margin above the dew point (" + channel.channel_id + ")",
                                      margin->value(), true))
                 : std::nullopt;
    }
    default:
      return std::nullopt;
  }
}

bool advises(const RoomOutlook& room, std::initializer_list<StepKind> kinds) {
  return room.air.advice &&
         std::any_of(room.air.advice->steps.begin(), room.air.advice->steps.end(),
                     [&](const RoomStep& step) {
                       return std::find(kinds.begin(), kinds.end(), step.kind) != kinds.end();
                     });
}

// Those of the site's cautions that belong to what is advised here.
std::vector<std::string> cautions_from(const RoomOutlook& room) {
  const bool heats = advises(room, {StepKind::heat, StepKind::ventilate});
  const bool machines = heats || advises(room, {StepKind::dry, StepKind::humidify});
  const bool drills = room.slab.has_value();
  const bool carbide = room.requirements.slab && room.requirements.slab->carbide_high;
  const bool stacks = room.heat.advises_stacking || !room.heat.advice.empty();
  const std::array<std::pair<bool, std::string_view>, 7> topics{{{true, "come first"},
                                                                 {heats, "Fuel-burning heaters"},
                                                                 {machines, "Mains-powered"},
                                                                 {drills, "silica dust"},
                                                                 {drills, "drilling probe holes"},
                                                                 {carbide, "Carbide"},
                                                                 {stacks, "Cartons are heavy"}}};
  std::vector<std::string> cautions;
  for (const std::string& caution : analysis::certificate::site_cautions()) {
    if (std::any_of(topics.begin(), topics.end(), [&](const auto& topic) {
          return topic.first && caution.find(topic.second) != std::string::npos;
        })) {
      cautions.push_back(caution);
    }
  }
  return cautions;
}

RoomOutlook room_outlook_from(const RoomFacts& facts) {
  RoomOutlook room;
  room.room_id = facts.room.id;
  room.room_name = facts.room.name;
  room.floor_area_m2 = facts.room.floor_area_m2;
  room.floor_product = facts.room.floor_product;
  room.requirements = facts.room.requirements;
  room.assessment = facts.assessment;
  room.when = when_from(facts);
  if (!room.when.delivery_ahead) {
    room.heat = heat_from(facts);
    room.moisture = moisture_from(facts);
  }
  room.slab = slab_from(facts);
  room.wood_subfloor = wood_subfloor_from(facts);
  room.air = air_from(facts);
  room.movement = movement_from(facts);
  room.uncertainty = uncertainty_from(facts);
  room.course = facts.history.course;
  room.cautions = cautions_from(room);
  return room;
}

Result<RoomOutlook> room_outlook(OpenedJob& opened, const JobRoom& room, const JobRecords& records,
                                 std::optional<UtcMicros> at) {
  const auto tracker = at ? RoomTracker::rebuild(*opened.store, opened.job, room, records, at)
                          : RoomTracker::open(*opened.store, opened.job, room, records);
  if (!tracker) {
    return Failure{tracker.error()};
  }
  const UtcMicros now = at.value_or(opened.now);
  const auto history = outlook_history_from(*opened.store, {&opened.job, &room, &records, now});
  if (!history) {
    return Failure{history.error()};
  }
  const auto evidence = tracker.value().evidence(now);
  const auto assessment = assess_room(room.requirements, evidence);
  return room_outlook_from(
      {opened.job, room, tracker.value(), evidence, assessment, history.value(), now});
}

}  // namespace

const GateResult* gate_of(const RoomFacts& facts, std::string_view id) {
  const auto& gates = facts.assessment.gates;
  const auto found = std::find_if(gates.begin(), gates.end(),
                                  [&](const GateResult& gate) { return gate.id == id; });
  return found == gates.end() ? nullptr : &*found;
}

std::optional<analysis::readiness::room::TimeOrReason> core_time(const RoomFacts& facts) {
  const GateResult* gate = gate_of(facts, kCoreGate);
  if (gate == nullptr) {
    return std::nullopt;
  }
  const auto& requirements = facts.room.requirements;
  analysis::readiness::outlook::CoreKnown known;
  known.gate = gate->state;
  known.air = air_temperature_now(facts);
  if (analysis::readiness::gates::is_measured(kCoreGate, requirements, facts.evidence)) {
    known.lowest = Celsius{requirements.temperature_low.value.value() -
                           requirements.core_within.value.value()};
  }
  if (const auto& stack = facts.tracker.replay().stack()) {
    known.air_until = stack->result().at;
    known.to_warm = stack->time_to_warm();
  }
  return core_time_from(known, facts.now);
}

std::optional<Celsius> air_temperature_now(const RoomFacts& facts) {
  const auto values = analysis::readiness::gates::air_values(
      ChannelRole::room_air_temperature, facts.room.requirements, facts.evidence);
  return values ? std::optional(Celsius{values->mean}) : std::nullopt;
}

std::optional<RelativeHumidity> air_rh_now(const RoomFacts& facts) {
  const auto values = analysis::readiness::gates::air_values(
      ChannelRole::room_air_rh, facts.room.requirements, facts.evidence);
  return values ? std::optional(RelativeHumidity{values->mean}) : std::nullopt;
}

WhenOutlook when_from(const RoomFacts& facts) {
  const auto& replay = facts.tracker.replay();
  WhenOutlook when;
  const auto& delivered = facts.evidence.delivered_at;
  if (delivered && *delivered > facts.now) {
    when.delivery_ahead = delivered;
    when.not_before = *delivered + replay.policy().required;
  } else if (delivered) {
    when.dwell = analysis::readiness::room::dwell_end_expected_from(
        replay.dwell(), replay.policy(),
        {recent_of(ChannelRole::room_air_temperature, facts),
         recent_of(ChannelRole::room_air_rh, facts)},
        facts.now);
    when.not_before = analysis::readiness::room::earliest_dwell_end_from(
        replay.dwell(), replay.policy(), facts.now);
  } else {
    when.missing.push_back(
        "No hours are counted: nobody noted the delivery (dwellog note JOBDIR delivery).");
  }
  when.core = when.delivery_ahead ? std::nullopt : core_time(facts);
  when.ready = ready_time_from(when.dwell, when.core);
  const bool done = when.ready.at && when.ready.at.value().late <= facts.now;
  for (const GateResult& gate : facts.assessment.gates) {
    if (gate.state == GateState::met) {
      continue;
    }
    if (gate.id.starts_with(analysis::readiness::kSiteGatePrefix)) {
      when.open_by_hand.push_back(gate.id.substr(analysis::readiness::kSiteGatePrefix.size()));
      continue;
    }
    const bool waited_for = gate.id == "dwell" || gate.id == kCoreGate;
    when.in_doubt = when.in_doubt || (waited_for && done);
    if (!waited_for || done) {
      when.open_otherwise.push_back(gate);
    }
  }
  return when;
}

UncertaintyOutlook uncertainty_from(const RoomFacts& facts) {
  UncertaintyOutlook uncertainty;
  uncertainty.rule = facts.room.requirements.decision.value;
  uncertainty.rule_source = facts.room.requirements.decision.source;
  uncertainty.wrong_ready_probability = facts.assessment.wrong_ready_probability;
  for (const ChannelSetup& channel : facts.tracker.replay().setup().channels) {
    if (channel.scale.role == ChannelRole::supply_voltage) {
      continue;  // nothing is decided by it
    }
    const auto parts = analysis::readiness::sensor_uncertainty_from(
        {channel.specification, channel.calibrations, channel.scale.units_per_count},
        facts.evidence.delivered_at);
    if (!parts) {
      uncertainty.unknown_channels.push_back(channel.channel_id);
      continue;
    }
    uncertainty.channels.push_back({channel.channel_id, channel.scale.role, *parts});
    if (auto guard = guard_from(facts, uncertainty.channels.back())) {
      uncertainty.guards.push_back(std::move(*guard));
    }
  }
  return uncertainty;
}

Result<OutlookReport> outlook_report_from(OpenedJob& opened, const std::string& room_id,
                                          std::optional<UtcMicros> at) {
  const auto rooms = rooms_asked_for(opened.job, room_id);
  if (!rooms) {
    return Failure{rooms.error()};
  }
  OutlookReport report;
  report.job_name = opened.job.name;
  report.simulated = opened.simulated;
  report.now = at.value_or(opened.now);
  auto all_records = job_records_from(*opened.store);
  if (!all_records) {
    return Failure{all_records.error()};
  }
  const JobRecords records = records_as_of(std::move(all_records).value(), report.now);
  for (const JobRoom* room : rooms.value()) {
    auto made = room_outlook(opened, *room, records, at);
    if (!made) {
      return Failure{made.error()};
    }
    report.rooms.push_back(std::move(made).value());
  }
  return report;
}

}  // namespace logger::app
