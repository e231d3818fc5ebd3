#include "analysis/alerts/alert_texts.hpp"

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <utility>

#include "analysis/readiness/reason_texts.hpp"

namespace analysis::alerts {
namespace {

std::string number(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.1f", value);
  return text;
}

// "20.1 °C (band 17.0 to 23.0 °C), 52.3 %RH (band 45.0 to 60.0 %RH)". `Room` has both values,
// `Limits` four limits.
template <class Room, class Limits>
std::string climate_text(const Room& room, const Limits& limits, const std::string& limits_name) {
  const std::string temperature =
      room.temperature ? number(room.temperature->value()) + " °C" : "temperature unknown";
  const std::string rh =
      room.rh ? number(base::percent_from_rh(*room.rh)) + " %RH" : "humidity unknown";
  return temperature + " (" + limits_name + ' ' + number(limits.temperature_low.value()) + " to " +
         number(limits.temperature_high.value()) + " °C), " + rh + " (" + limits_name + ' ' +
         number(base::percent_from_rh(limits.rh_low)) + " to " +
         number(base::percent_from_rh(limits.rh_high)) + " %RH)";
}

// What the floor does, and what to do: no advice goes against another.
std::string service_advice(const readiness::OutsideBy& by) {
  std::string text;
  if (by.dry) {
    text += std::string("; dry air shrinks the floor, joints may open: humidify") +
            (by.cold ? "" : " or heat less");
  }
  if (by.damp) {
    text += std::string("; damp air swells the floor into its gap at the walls: keep the gap ") +
            "free, air when it is drier outside, dry the air" + (by.warm ? "" : " or heat");
  }
  if (by.cold) {
    text += "; heat the room evenly";
  }
  if (by.warm) {
    text += "; heat less, shade the sun";
  }
  return text;
}

std::string service_name(const readiness::OutsideBy& by) {
  std::string text;
  for (const auto& [outside, word] : {std::pair{by.dry, "dry"}, std::pair{by.damp, "damp"},
                                      std::pair{by.cold, "cold"}, std::pair{by.warm, "warm"}}) {
    if (outside) {
      text += (text.empty() ? "too " : " and too ") + std::string(word);
    }
  }
  return text;
}

std::string hours_text(double done, double left) {
  return readiness::text_from_hours_done(done) + " in band done, " +
         readiness::text_from_hours_left(left) + " to go";
}

std::string hours_text(const RoomObservation& room) {
  return room.assessment == nullptr
             ? "hours not known"
             : hours_text(room.assessment->dwell_done_hours, room.assessment->dwell_left_hours);
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

std::string gate_text(const RoomObservation& room, std::string_view id) {
  const readiness::GateResult* gate = gate_of(room.assessment, id);
  if (gate == nullptr) {
    return {};
  }
  return ": " + gate->reason + (gate->action.empty() ? "" : " " + gate->action);
}

std::string dwell_done_text(Transition transition, const RoomObservation& room) {
  if (transition == Transition::cleared) {
    return "the hours are no longer complete" + gate_text(room, "dwell");
  }
  const bool ready =
      room.assessment != nullptr && room.assessment->verdict == readiness::Verdict::ready;
  return "the hours are complete: " + hours_text(room) +
         (ready ? "" : "; the room is not ready yet" + verdict_text(room));
}

std::string room_text(RuleKind kind, Transition transition, const RoomObservation& room) {
  const bool fired = transition == Transition::fired;
  switch (kind) {
    case RuleKind::ready:
      return "ready: every gate is met, " + hours_text(room);
    case RuleKind::no_longer_ready:
      return "no longer ready" + verdict_text(room);
    case RuleKind::dwell_done:
      return dwell_done_text(transition, room);
    case RuleKind::stack_lagging:
      return (fired ? "the stack lags behind the room" : "the stack has come to the room") +
             gate_text(room, "stack_core");
    case RuleKind::condensation_risk:
      return (fired ? "water may condense on the slab"
                    : "the slab is clear of condensation again") +
             gate_text(room, "condensation");
    case RuleKind::slab_done:
      return (fired ? "the slab is dry enough" : "the slab is no longer dry enough") +
             gate_text(room, "slab");
    default:
      break;
  }
  std::abort();  // not a rule of verdict or gates
}

std::string bytes_text(std::int64_t bytes) {
  const auto megabytes = static_cast<double>(bytes) / 1e6;
  char text[48];
  std::snprintf(text, sizeof text, megabytes < 1e4 ? "%.0f MB" : "%.0f GB",
                megabytes < 1e4 ? megabytes : megabytes / 1e3);
  return text;
}

}  // namespace

const readiness::GateResult* gate_of(const readiness::RoomAssessment* assessment,
                                     std::string_view id) {
  if (assessment == nullptr) {
    return nullptr;
  }
  const auto found =
      std::find_if(assessment->gates.begin(), assessment->gates.end(),
                   [id](const readiness::GateResult& gate) { return gate.id == id; });
  return found == assessment->gates.end() ? nullptr : &*found;
}

std::string text_from_air(RuleKind kind, Transition transition, const AirReading& reading) {
  const bool fired = transition == Transition::fired;
  const std::string hours = hours_text(reading.dwell_done_hours, reading.dwell_left_hours);
  return reading.room_id + ": " +
         (kind == RuleKind::out_of_band
              ? (fired ? "room air out of band: " : "room air back in band: ") +
                    climate_text(reading, reading.band, "band")
              : (fired ? "counting of hours began again: " : "hours count again: ") + hours);
}

std::string text_from_room(RuleKind kind, Transition transition, const RoomObservation& room) {
  return room.room_id + ": " + room_text(kind, transition, room);
}

std::string text_from_laid(const std::string& room_id) {
  return room_id + ": the floor is laid; the hours before it no longer matter";
}

std::string text_from_service(Transition transition, const ServiceObservation& room) {
  if (!room.air) {
    return room.room_id + ": laying began anew; the climate to keep counts once it is finished";
  }
  const auto by = readiness::outside_of(room.air->rh, room.air->temperature, room.climate);
  const bool fired = transition == Transition::fired;
  return room.room_id + ": the laid floor's room is " +
         (fired ? service_name(by) : "back in the climate to keep") + ", mean of " +
         readiness::text_from_whole_hours(room.air->over) + ' ' +
         climate_text(*room.air, room.climate, "keep") + (fired ? service_advice(by) : "");
}

std::string text_from_outlook(Transition transition, const std::string& room_id,
                              const BandOutlook& outlook) {
  if (transition == Transition::cleared || !outlook.exit) {
    return room_id + ": the room air no longer moves out of its band";
  }
  const BandExit& exit = *outlook.exit;
  const bool celsius = exit.role == base::ChannelRole::room_air_temperature;
  const double scale = celsius ? 1.0 : 100.0;
  const std::string unit = celsius ? " °C" : " %RH";
  return room_id + ": the room air leaves its band in about " + base::text_from_duration(exit.in) +
         " if the trend of the last 3 h goes on: " + number(exit.value * scale) + unit +
         (exit.per_hour > 0.0 ? ", rising " : ", falling ") +
         number(std::abs(exit.per_hour) * scale) + (celsius ? " K" : " %RH") + " an hour, limit " +
         number(exit.edge * scale) + unit;
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

std::string text_from_time_error(Transition transition, const BoxObservation& box, Micros limit) {
  const std::string error = base::text_from_duration(box.time_error.value_or(Micros{0}));
  return box.box_id + (transition == Transition::fired
                           ? ": its newest reading is dated within " + error + " only, limit " +
                                 base::text_from_duration(limit) + "; check the machine's clock"
                           : ": its readings are dated within " + error + " again");
}

std::string text_from_slab(Transition transition, const ChannelObservation& channel,
                           base::RelativeHumidity rise_per_day) {
  const std::string newest =
      channel.settled_slab_rh.empty()
          ? ""
          : ", now " + number(100.0 * channel.settled_slab_rh.back().value) + " %RH";
  if (transition == Transition::cleared) {
    return channel.channel_id + ": the RH in the slab no longer rises" + newest;
  }
  return channel.channel_id + ": the RH in the slab rises by " +
         number(base::percent_from_rh(rise_per_day)) + " %RH a day" + newest +
         "; look for water, or warmth from below";
}

std::string text_from_calibration(Transition transition, const ChannelObservation& channel,
                                  UtcMicros now) {
  const UtcMicros due = channel.calibration_due_at.value_or(now);
  const std::string date = base::rfc3339_from_utc(due).substr(0, 10);
  if (transition == Transition::cleared) {
    return channel.channel_id + ": its calibration is good until " + date;
  }
  return channel.channel_id +
         (due <= now ? ": its calibration expired on " + date
                     : ": its calibration expires on " + date + ", in " +
                           base::text_from_duration(due - now)) +
         "; have it calibrated, or note the new certificate";
}

std::string text_from_disk(Transition transition, const LoggerObservation& logger) {
  std::string state = logger.free_bytes ? bytes_text(*logger.free_bytes) + " free" : "not known";
  if (logger.store_limit_bytes > 0) {
    state += ", the store has " + bytes_text(logger.store_bytes) + " of " +
             bytes_text(logger.store_limit_bytes);
  }
  return transition == Transition::fired
             ? "logger: room on its disk runs out: " + state +
                   "; make room, or probe boxes keep what they can and the rest is lost"
             : "logger: there is room on its disk again: " + state;
}

std::string text_from_clock(Transition transition, const LoggerObservation& logger) {
  if (transition == Transition::cleared) {
    return "logger: its clock is in order again";
  }
  if (logger.clock_step != Micros{0}) {
    const bool forward = logger.clock_step > Micros{0};
    const Micros size = forward ? logger.clock_step : -logger.clock_step;
    return "logger: its clock was put " + std::string(forward ? "forward" : "back") + " by " +
           base::text_from_duration(size) + "; earlier readings are dated anew";
  }
  return "logger: nothing keeps its clock to the time; check its network or its time service";
}

}  // namespace analysis::alerts
