#include <algorithm>
#include <nlohmann/json.hpp>
#include <sstream>

#include "analysis/readiness/reason_texts.hpp"
#include "logger/app/handover/laid_content.hpp"
#include "logger/app/status/laid_lines.hpp"
#include "logger/app/status/status_report.hpp"
#include "logger/app/text/terminal_text.hpp"
#include "logger/app/text/unit_wrap.hpp"

namespace logger::app {

using analysis::base::ChannelRole;
using analysis::base::ChannelStatus;
using analysis::base::minute_text_from_utc;
using analysis::base::rfc3339_from_utc;
using analysis::base::text_from_duration;
using analysis::readiness::GateResult;
using analysis::readiness::GateState;
using analysis::readiness::Quality;
using analysis::readiness::Verdict;

namespace {

constexpr std::size_t kGateColumn = 28;  // where the reason of a gate begins

std::string value_text(const ChannelStatusLine& channel, bool imperial) {
  if (!channel.value) {
    return "-";
  }
  const auto unit = analysis::base::file_unit_of(channel.role);
  if (unit == "celsius") {
    return imperial
               ? fixed(fahrenheit_from_celsius(analysis::base::Celsius{*channel.value}), 1) + " °F"
               : fixed(*channel.value, 1) + " °C";
  }
  return unit == "percent_rh" ? fixed(*channel.value, 1) + " %RH" : fixed(*channel.value, 2) + " V";
}

std::string age_text(const std::optional<UtcMicros>& at, UtcMicros now) {
  return at ? text_from_duration(now - *at) : "never";
}

std::string bar(double done, double required) {
  constexpr int kCells = 40;
  const double share = required > 0.0 ? std::clamp(done / required, 0.0, 1.0) : 1.0;
  const int full = static_cast<int>(share * kCells);
  return "[" + std::string(static_cast<std::size_t>(full), '#') +
         std::string(static_cast<std::size_t>(kCells - full), '.') + "]";
}

void add_dwell(std::string& text, const RoomStatus& room) {
  const auto& assessment = room.assessment;
  text += "  Dwell    " + bar(assessment.dwell_done_hours, room.dwell_required_hours) + ' ' +
          analysis::readiness::text_from_hours_done(assessment.dwell_done_hours) + " of " +
          fixed(room.dwell_required_hours, 1) + " h in band\n";
  std::string when;
  if (assessment.dwell_left_hours <= 0.0 && assessment.dwell_done_at) {
    when = "complete since " + minute_text_from_utc(*assessment.dwell_done_at);
  } else {
    when = analysis::readiness::text_from_hours_left(assessment.dwell_left_hours) + " left; ";
    when +=
        assessment.dwell_expected_at
            ? "complete " + minute_text_from_utc(*assessment.dwell_expected_at) + " if it stays so"
            : "no date while the room is out of band or unknown";
  }
  if (room.dwell.resets > 0) {
    when += "; started over " + std::to_string(room.dwell.resets) +
            (room.dwell.resets == 1 ? " time" : " times");
  }
  text += "           " + wrapped(when, 11) + '\n';
}

// On as many lines as a terminal needs, which a shell takes as one.
void add_command(std::string& text, std::size_t indent, const std::string& command) {
  constexpr std::string_view kGoesOn = " \\";
  std::string line(indent, ' ');
  std::istringstream words(command);
  for (std::string word; words >> word;) {
    std::string value;
    if (word.starts_with("--") && words >> value) {
      word += ' ' + value;
    }
    if (line.size() > indent && line.size() + 1 + word.size() + kGoesOn.size() > kTerminalWidth) {
      text += line + std::string(kGoesOn) + '\n';
      line.assign(indent + 2, ' ');
      line += word;
    } else {
      line += (line.size() > indent ? " " : "") + word;
    }
  }
  text += line + '\n';
}

// A gate that was noted as not met: how it is noted again.
void add_note_again(std::string& text, const GateResult& gate, const RoomStatus& room,
                    const std::string& job_folder) {
  for (const MissingNote& note : room.to_note_again) {
    if (gate.id == std::string(analysis::readiness::kSiteGatePrefix) + note.what) {
      add_command(text, kGateColumn, command_of(note, job_folder));
    }
  }
}

// `told`: the last thing to do that was told, which is not said again right below.
void add_gate(std::string& text, const GateResult& gate, std::string& told) {
  const char* mark = gate.state == GateState::met       ? "[x]"
                     : gate.state == GateState::not_met ? "[ ]"
                                                        : "[?]";
  text += "  " + std::string(mark) + ' ' + padded(gate.id, kGateColumn - 7) + ' ' +
          wrapped(gate.reason, kGateColumn) + '\n';
  if (!gate.action.empty() && gate.action != told) {
    text += std::string(kGateColumn, ' ') + wrapped("-> " + gate.action, kGateColumn) + '\n';
  }
  told = gate.action;
}

std::string calibration_text(const ChannelStatusLine& channel, UtcMicros now) {
  if (channel.role == ChannelRole::supply_voltage) {
    return "";  // nothing rests on it but a warning
  }
  if (!channel.calibration_due_at) {
    return ", calibration unknown";
  }
  return (*channel.calibration_due_at < now ? ", EXPIRED " : ", cal. to ") +
         rfc3339_from_utc(*channel.calibration_due_at).substr(0, 10);
}

void add_channel(std::string& text, const ChannelStatusLine& channel, UtcMicros now,
                 bool imperial) {
  constexpr std::size_t kStateColumn = 57;
  std::string state(channel.last_status != ChannelStatus::ok ? name_of(channel.last_status)
                    : channel.last_quality != Quality::good  ? name_of(channel.last_quality)
                                                             : "ok");
  std::replace(state.begin(), state.end(), '_', ' ');
  if (!channel.last_seen_at) {
    state = "never heard";
  }
  text += "  " + padded(channel.channel_id, 10) + ' ' + padded(role_text(channel.role), 24) + ' ' +
          padded(value_text(channel, imperial), 9) + ' ' +
          padded(age_text(channel.value_at, now), 8) + ' ' +
          wrapped(state + calibration_text(channel, now), kStateColumn) + '\n';
}

void add_missing(std::string& text, const RoomStatus& room, const std::string& job_folder) {
  if (!room.missing.empty()) {
    text += "\n  Still to note\n";
  }
  for (const MissingNote& note : room.missing) {
    text += "    " + wrapped(note.what + ": " + note.why, 4) + '\n';
    add_command(text, 6, command_of(note, job_folder));
  }
}

// A sensor that reads a little low or high would not have counted them all.
bool hours_began_at_a_limit(const analysis::readiness::RoomAssessment& assessment) {
  constexpr double kAboutEven = 0.4;
  return std::any_of(assessment.gates.begin(), assessment.gates.end(),
                     [](const GateResult& gate) {
                       return gate.id == "dwell" && gate.wrong_probability &&
                              *gate.wrong_probability > kAboutEven;
                     }) &&
         assessment.wrong_ready_probability;
}

// Only a "ready" can be wrongly one.
std::string wrong_ready_line(const analysis::readiness::RoomAssessment& assessment) {
  if (assessment.verdict != Verdict::ready) {
    return {};
  }
  if (hours_began_at_a_limit(assessment)) {
    return "  errors of the sensors alone may well have made this wrong (at most " +
           analysis::readiness::text_from_upper_share(*assessment.wrong_ready_probability) +
           "):\n  the hours touched a limit of their band; a few hours more in it make this firm\n";
  }
  return assessment.wrong_ready_probability
             ? "  probability that errors of the sensors alone made this wrong: at most " +
                   analysis::readiness::text_from_upper_share(*assessment.wrong_ready_probability) +
                   '\n'
             : "  how likely sensor errors made this wrong is not known: an accuracy is missing\n";
}

// When it was laid and what was noted of it; nothing where it did not begin.
void add_laying(std::string& text, const analysis::certificate::LayingFacts& laying,
                bool imperial) {
  constexpr std::size_t kIndent = 8;
  if (!laying.began_at) {
    return;
  }
  const std::string laid = text_from_laid_floor(laying.laid, imperial);
  const std::string when = laying.finished_at
                               ? "finished " + minute_text_from_utc(*laying.finished_at)
                               : "began " + minute_text_from_utc(*laying.began_at);
  text +=
      "\n  Laid: " + wrapped_with_units(when + (laid.empty() ? "" : "; " + laid), kIndent) + '\n';
}

// What the room is: the verdict; before it that the floor is being laid; once it lies its climate.
std::string state_lines(const RoomStatus& room, bool imperial) {
  constexpr std::size_t kStateIndent = 2;
  const std::string verdict = verdict_banner(room.assessment.verdict);
  if (!room.laying.began_at) {
    return verdict + '\n' + wrong_ready_line(room.assessment);
  }
  if (!room.service || !room.laying.finished_at) {
    return "BEING LAID since " + minute_text_from_utc(*room.laying.began_at) +
           "; the room now: " + verdict + '\n' + wrong_ready_line(room.assessment);
  }
  return "LAID " + minute_text_from_utc(*room.laying.finished_at) + "\n  " +
         wrapped_with_units(service_sentence(*room.service, room.climate, {imperial}),
                            kStateIndent) +
         "\n  For a laying the room would now be: " + verdict + '\n';
}

void add_room(std::string& text, const RoomStatus& room, const StatusReport& report,
              bool imperial) {
  text += '\n' +
          heading_text({room.room_name, room.room_id, room.floor_area_m2, room.floor_product},
                       imperial) +
          "\n  " + state_lines(room, imperial) + '\n';
  add_dwell(text, room);
  text += '\n';
  std::string told;
  for (const GateResult& gate : room.assessment.gates) {
    add_gate(text, gate, told);
    add_note_again(text, gate, room, report.job_folder);
  }
  add_missing(text, room, report.job_folder);
  for (const TestUnderWay& test : room.slab_tests) {
    text += "\n  " + wrapped(sentence_from(test), 2) + '\n';
  }
  for (const TestResult& test : room.test_results) {
    text += "\n  " + wrapped_with_units(text_from_test(test, imperial), 2) + '\n';
  }
  text += "\n  Channel    measures                 value     age      state\n";
  for (const ChannelStatusLine& channel : room.channels) {
    add_channel(text, channel, report.now, imperial);
  }
  if (const auto& last = room.certificate) {
    text += "\n  Last certificate: " + last->number + ", issued " +
            minute_text_from_utc(last->issued_at) +
            (last->supersedes.empty() ? "" : ", takes the place of " + last->supersedes) + '\n';
  }
  add_laying(text, room.laying, imperial);
}

std::string link_text(const BoxLine& box, UtcMicros now) {
  if (!box.link_up) {
    return "never tried; start dwellog run";
  }
  const std::string since =
      box.since ? " since " + minute_text_from_utc(*box.since) : std::string();
  if (*box.link_up) {
    return "answers" + since + (box.refusal.empty() ? "" : ", but refuses: " + box.refusal);
  }
  std::string text = "no link" + since + ": " + box.reason;
  if (!box.keeps_records) {
    return text + "; keeps no records: what it measures meanwhile is lost";
  }
  if (box.records_kept_until) {
    text += *box.records_kept_until > now
                ? "; keeps its records until about "
                : "; its memory is full, records are being lost since about ";
    text += minute_text_from_utc(*box.records_kept_until);
  }
  return text;
}

void add_boxes(std::string& text, const StatusReport& report) {
  constexpr std::size_t kLinkColumn = 13;
  if (report.boxes.empty()) {
    return;
  }
  const std::string written =
      report.logger_seen_at ? "last written " + age_text(report.logger_seen_at, report.now) + " ago"
                            : "nothing written yet";
  text += report.logger_running
              ? "\nBoxes (the logger runs; " + written + ")\n"
              : "\nBoxes (THE LOGGER IS NOT RUNNING, start dwellog run; " + written + ")\n";
  for (const BoxLine& box : report.boxes) {
    text += "  " + padded(box.box_id, kLinkColumn - 3) + ' ' +
            wrapped(link_text(box, report.now), kLinkColumn) + '\n';
  }
}

std::string acknowledged_text(const AlertLine& alert) {
  return alert.acknowledged_at ? " (acknowledged by " + alert.acknowledged_by + ", " +
                                     minute_text_from_utc(*alert.acknowledged_at) + ")"
                               : " (not acknowledged)";
}

void add_alerts(std::string& text, const StatusReport& report) {
  constexpr std::size_t kAlertIndent = 11;
  text += "\nAlerts\n";
  if (report.alerts.empty()) {
    text += "  none pending or firing\n";
  }
  for (const AlertLine& alert : report.alerts) {
    text += "  " + padded(alert.phase, 8) + ' ' + padded(alert.key, 34) + ' ' +
            (alert.since ? "since " + minute_text_from_utc(*alert.since) : "") + '\n';
    if (alert.phase == "firing") {
      text += "           " + wrapped(alert.text + acknowledged_text(alert), kAlertIndent) + '\n';
    }
  }
  for (const DeliveryLine& line : report.deliveries) {
    if (const std::string waiting = text_from(line); !waiting.empty()) {
      text += "  " + wrapped(waiting, 4) + '\n';
    }
  }
  if (!report.messages.empty()) {
    text += "\nLast messages\n";
  }
  for (const store::Message& message : report.messages) {
    std::string line = text_of_message(message);
    if (!message.delivered_at && message.attempts > 0) {
      line += " (not delivered to all: " + message.last_error + ")";
    }
    text += "  " + minute_text_from_utc(message.at) + "  " + wrapped(line, 24) + '\n';
  }
}

void add_checkpoints(std::string& text, const CheckpointSummary& summary) {
  constexpr std::size_t kIndent = 2;
  text += "\nEvidence log\n";
  for (const std::string& line : lines_from(summary)) {
    text += "  " + wrapped(line, kIndent) + '\n';
  }
}

}  // namespace

std::string text_from_status(const StatusReport& report, bool imperial) {
  std::string text = simulated_line(report.simulated);
  text += wrapped(report.job_name, 0) + ", at " + minute_text_from_utc(report.now) + '\n';
  for (const RoomStatus& room : report.rooms) {
    add_room(text, room, report, imperial);
  }
  if (!report.past) {
    add_boxes(text, report);
    add_alerts(text, report);
  }
  if (report.checkpoints) {
    add_checkpoints(text, *report.checkpoints);
  }
  if (report.lost_records > 0) {
    text += "\n" + std::to_string(report.lost_records) +
            " records were lost for ever; the certificate lists them\n";
  }
  if (report.undated_records > 0) {
    text += "\n" + std::to_string(report.undated_records) +
            " records have no date (the clock was not set) and decide nothing\n";
  }
  return text;
}

}  // namespace logger::app
