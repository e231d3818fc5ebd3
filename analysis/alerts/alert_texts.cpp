#include "analysis/alerts/alert_texts.hpp"

#include <algorithm>
#include <cstdio>
#include <cstdlib>

namespace analysis::alerts {
namespace {

std::string number(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.1f", value);
  return text;
}

std::string climate_text(const RoomObservation& room) {
  const readiness::ClimateBand& band = room.band;
  const std::string temperature =
      room.air_temperature ? number(room.air_temperature->value()) + " °C" : "temperature unknown";
  const std::string rh =
      room.air_rh ? number(base::percent_from_rh(*room.air_rh)) + " %RH" : "humidity unknown";
  return temperature + " (band " + number(band.temperature_low.value()) + " to " +
         number(band.temperature_high.value()) + " °C), " + rh + " (band " +
         number(base::percent_from_rh(band.rh_low)) + " to " +
         number(base::percent_from_rh(band.rh_high)) + " %RH)";
}

std::string hours_text(const RoomObservation& room) {
  if (room.assessment == nullptr) {
    return "hours not known";
  }
  return number(room.assessment->dwell_done_hours) + " h in band done, " +
         number(room.assessment->dwell_left_hours) + " h to go";
}

// Why the room is not ready: what is not met comes before what is unknown.
std::string reason_text(const readiness::RoomAssessment& assessment) {
  for (const readiness::GateState wanted :
       {readiness::GateState::not_met, readiness::GateState::unknown}) {
    const auto found =
        std::find_if(assessment.gates.begin(), assessment.gates.end(),
                     [wanted](const readiness::GateResult& gate) { return gate.state == wanted; });
    if (found != assessment.gates.end()) {
      return found->reason;
    }
  }
  return "no reason given";
}

std::string verdict_text(const RoomObservation& room) {
  if (room.assessment == nullptr) {
    return {};
  }
  return " (" + std::string(readiness::name_of(room.assessment->verdict)) +
         "): " + reason_text(*room.assessment);
}

std::string fired_text(RuleKind kind, const RoomObservation& room) {
  switch (kind) {
    case RuleKind::out_of_band:
      return "room air out of band: " + climate_text(room);
    case RuleKind::dwell_reset:
      return "counting of hours began again: " + hours_text(room);
    case RuleKind::ready:
      return "ready: every gate is met, " + hours_text(room);
    case RuleKind::no_longer_ready:
      return "no longer ready" + verdict_text(room);
    default:
      break;
  }
  std::abort();  // not a rule of rooms
}

std::string cleared_text(RuleKind kind, const RoomObservation& room) {
  return kind == RuleKind::out_of_band ? "room air back in band: " + climate_text(room)
                                       : "hours count again: " + hours_text(room);
}

}  // namespace

std::string text_from_room(RuleKind kind, Transition transition, const RoomObservation& room) {
  return room.room_id + ": " +
         (transition == Transition::fired ? fired_text(kind, room) : cleared_text(kind, room));
}

std::string text_from_box(Transition transition, const BoxObservation& box, UtcMicros now) {
  if (transition == Transition::cleared) {
    return box.box_id + ": samples arrive again";
  }
  if (!box.last_sample_at) {
    return box.box_id + ": never heard; tried for " +
           base::text_from_duration(now - box.expected_from) + "; check supply, cable and port";
  }
  return box.box_id + ": no sample for " + base::text_from_duration(now - *box.last_sample_at) +
         ", the last one at " + base::minute_text_from_utc(*box.last_sample_at) +
         "; check supply, cable and port";
}

std::string text_from_flag(RuleKind kind, Transition transition, const BoxObservation& box) {
  const bool fired = transition == Transition::fired;
  switch (kind) {
    case RuleKind::lid_open:
      return box.box_id + (fired ? ": its lid was opened; look who is there and what was touched"
                                 : ": its lid is closed again");
    case RuleKind::tilted:
      return box.box_id + (fired ? ": it was tilted or moved; check that box and probes are where "
                                   "they were noted"
                                 : ": it stands level again");
    case RuleKind::supply_low:
      return box.box_id + (fired ? ": its supply is low; change or charge the battery soon"
                                 : ": its supply is good again");
    case RuleKind::self_test_failed:
      return box.box_id + (fired ? ": its self-test fails; it goes on recording, but replace it"
                                 : ": its self-test passes again");
    default:
      break;
  }
  std::abort();  // not what a box says of itself
}

std::string text_from_channel(Transition transition, const ChannelObservation& channel) {
  if (transition == Transition::cleared) {
    return channel.channel_id + ": usable values again";
  }
  return channel.channel_id + ": no usable value (" + channel.quality + ")" +
         (channel.last_good_at
              ? ", the last good one at " + base::minute_text_from_utc(*channel.last_good_at)
              : "") +
         "; check the sensor, its plug and its place";
}

}  // namespace analysis::alerts
