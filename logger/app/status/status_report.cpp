#include "logger/app/status/status_report.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/outlook/sections/room_sections.hpp"
#include "logger/app/outlook/texts/section_texts.hpp"
#include "logger/app/room/service_hours.hpp"
#include "logger/app/room/site_work.hpp"
#include "logger/app/status/note_lines.hpp"
#include "logger/app/status/test_results.hpp"

namespace logger::app {

using analysis::readiness::ChannelEvidence;
using analysis::readiness::Verdict;
using store::Failure;
using store::Result;

namespace {

constexpr int kMessagesShown = 8;

double file_unit_value(analysis::base::ChannelRole role, double value) {
  return analysis::base::file_unit_of(role) == "percent_rh" ? value * 100.0 : value;
}

ChannelStatusLine channel_line_from(const ChannelEvidence& channel) {
  ChannelStatusLine line;
  line.channel_id = channel.channel_id;
  line.box_id = channel.box_id;
  line.role = channel.role;
  line.last_seen_at = channel.last_seen_at;
  line.last_status = channel.last_status;
  line.last_quality = channel.last_quality;
  line.calibration_due_at = channel.calibration_due_at;
  if (channel.last_good) {
    line.value = file_unit_value(channel.role, channel.last_good->value);
    line.value_at = channel.last_good->at;
  }
  return line;
}

std::string_view plain_name_of(const std::string& gate_id) {
  struct Name {
    std::string_view id;
    std::string_view name;
  };
  static constexpr Name kNames[] = {{"slab", "the slab"},
                                    {"slab_emission", "the emission test of the slab"},
                                    {"slab_carbide", "the carbide test of the slab"},
                                    {"slab_age", "the age of the slab"},
                                    {"wood_subfloor", "the wood subfloor"},
                                    {"dwell", "the hours"},
                                    {"stack_core", "the warmth of the cartons"},
                                    {"evidence", "the readings"}};
  const auto found = std::ranges::find(kNames, gate_id, &Name::id);
  return found == std::end(kNames) ? std::string_view(gate_id) : found->name;
}

// "the slab, condensation and 7 things that somebody must look at and note"
std::string open_text(const WhenOutlook& when) {
  std::vector<std::string> parts;
  for (const auto& gate : when.open_otherwise) {
    parts.emplace_back(plain_name_of(gate.id));
  }
  const std::size_t by_hand = when.open_by_hand.size();
  if (by_hand > 0) {
    parts.push_back(std::to_string(by_hand) + (by_hand == 1 ? " thing" : " things") +
                    " that somebody must look at and note");
  }
  std::string text;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    text += (i == 0 ? "" : i + 1 == parts.size() ? " and " : ", ") + parts[i];
  }
  return text;
}

// Without a pass over the log, which is what an outlook costs: of a slab it says only that it is
// open.
ReadyForecast forecast_from(const RoomFacts& facts) {
  const WhenOutlook when = when_from(facts);
  ReadyForecast forecast;
  forecast.earliest = when.not_before;
  if (when.ready.at) {
    const auto& [early, likely, late] = when.ready.at.value();
    forecast.earliest = early;
    forecast.likely = likely;
    forecast.latest = late;
  }
  forecast.text = when.missing.empty() ? ready_sentence(when, facts.now) : when.missing.front();
  const std::string open = open_text(when);
  forecast.text += open.empty() ? "" : " Also open: " + open + ".";
  return forecast;
}

// Readings and answers say what was asked; the question behind them would say it again. The
// certificate keeps it.
void drop_answered_questions(analysis::readiness::RoomAssessment& assessment,
                             const std::vector<analysis::readiness::SiteGateNote>& notes,
                             const analysis::readiness::FlatnessLimit& flatness) {
  for (const auto& note : notes) {
    const std::string id =
        std::string(analysis::readiness::kSiteGatePrefix) + std::string(name_of(note.gate));
    const std::string question = "; asked was: " + question_of(note.gate, flatness);
    for (auto& gate : assessment.gates) {
      if (gate.id == id && !note.grounds.empty() && !note.grounds.starts_with("Stated without") &&
          gate.reason.ends_with(question)) {
        gate.reason.replace(gate.reason.size() - question.size(), std::string::npos, ".");
      }
    }
  }
}

RoomStatus room_status_from(const RoomTracker& tracker, const Job& job, const JobRoom& room,
                            UtcMicros now) {
  RoomStatus status;
  status.room_id = room.id;
  status.room_name = room.name;
  status.floor_area_m2 = room.floor_area_m2;
  status.floor_product = room.floor_product;
  status.dwell_required_hours = analysis::base::hours_from(room.requirements.dwell.value);
  const auto evidence = tracker.evidence(now);
  status.assessment = analysis::readiness::assess_room(room.requirements, evidence);
  status.dwell = evidence.dwell;
  status.band = tracker.replay().policy().band;
  if (room.requirements.slab) {
    status.slab_limit = room.requirements.slab->rh_high.value;
  }
  status.core_within = room.requirements.core_within.value;
  status.flatness = room.requirements.flatness;
  const OutlookHistory no_history;
  status.forecast =
      forecast_from({job, room, tracker, evidence, status.assessment, no_history, now});
  drop_answered_questions(status.assessment, tracker.notes().site_gates,
                          room.requirements.flatness);
  status.slab_tests = tests_under_way(tracker, room, now);
  status.test_results = test_results_from(tracker.notes().subfloor_tests, room.requirements);
  for (const ChannelEvidence& channel : evidence.channels) {
    status.channels.push_back(channel_line_from(channel));
  }
  return status;
}

void note_link_event(const store::Event& event, const nlohmann::json& detail, BoxLine& line) {
  line.link_up = event.kind == "link_up";
  line.since = event.at;
  line.reason = detail.value("reason", "");
  line.keeps_records = detail.value("keeps_records", true);
  line.records_kept_until =
      analysis::base::utc_from_rfc3339(detail.value("records_kept_until_utc", ""));
}

void note_event(const store::Event& event, BoxLine& line) {
  const bool of_link = event.kind == "link_up" || event.kind == "link_down";
  if (!of_link && !event.kind.starts_with("registers_")) {
    return;
  }
  const auto detail = nlohmann::json::parse(event.detail_json, nullptr, false);
  if (!detail.is_object()) {
    return;
  }
  if (of_link) {
    note_link_event(event, detail, line);
  } else {
    line.refusal = detail.value("reason", "");
  }
}

Result<std::vector<BoxLine>> box_lines_from(store::ReadingStore& store, const Job& job) {
  std::vector<BoxLine> lines;
  for (const JobBox& box : job.boxes) {
    if (!box.csv) {
      lines.emplace_back().box_id = box.id;
    }
  }
  const auto events = store.events(0);
  if (!events) {
    return Failure{events.error()};
  }
  for (const store::Event& event : events.value()) {
    const auto line = std::find_if(lines.begin(), lines.end(), [&](const BoxLine& known) {
      return known.box_id == event.subject;
    });
    if (line != lines.end()) {
      note_event(event, *line);
    }
  }
  return lines;
}

// What the whole job shows beside its rooms.
Result<void> add_job_wide(store::ReadingStore& store, const Job& job, const JobRecords& records,
                          StatusReport& report) {
  auto alerts = alert_lines_from(store, records);
  auto messages = store.recent_messages(kMessagesShown);
  auto deliveries = delivery_lines_from(store, job);
  const auto gaps = store.gaps();
  const auto put = messages ? put_deliveries(store, messages.value()) : Result<void>{};
  if (!alerts || !messages || !deliveries || !gaps || !put) {
    return Failure{!alerts       ? alerts.error()
                   : !messages   ? messages.error()
                   : !deliveries ? deliveries.error()
                   : !gaps       ? gaps.error()
                                 : put.error()};
  }
  if (!report.past) {
    report.alerts = std::move(alerts).value();
    report.notes = newest_notes(records, 0, kNotesShown);
    report.messages = std::move(messages).value();
    report.deliveries = deliveries.value();
    auto boxes = box_lines_from(store, job);
    const auto seen = store.last_seen();
    if (!boxes || !seen) {
      return Failure{!boxes ? boxes.error() : seen.error()};
    }
    report.boxes = std::move(boxes).value();
    report.logger_seen_at = seen.value();
  }
  for (const DeliveryLine& line : deliveries.value()) {
    report.undelivered_messages += line.waiting;
  }
  for (const store::Gap& gap : gaps.value()) {
    report.lost_records += gap.last_sequence - gap.first_sequence + 1;
  }
  for (const JobBox& box : job.boxes) {
    const auto undated = undated_records(store, box.id);
    if (!undated) {
      return Failure{undated.error()};
    }
    report.undated_records += undated.value();
  }
  return {};
}

}  // namespace

Result<StatusReport> status_report_from(OpenedJob& opened, std::optional<UtcMicros> at) {
  StatusReport report;
  report.job_folder = opened.folder.root.string();
  report.job_name = opened.job.name;
  report.site_address = opened.job.site_address;
  report.installer = opened.job.installer;
  report.client = opened.job.client;
  report.simulated = opened.simulated;
  report.past = at.has_value();
  report.now = at.value_or(opened.now);
  auto all_records = job_records_from(*opened.store);
  if (!all_records) {
    return Failure{all_records.error()};
  }
  const JobRecords records =
      at ? records_as_of(std::move(all_records).value(), *at) : std::move(all_records).value();
  const auto issued = report.past ? std::vector<IssuedCertificate>{}
                                  : certificates_in(opened.folder.certificates());
  for (const JobRoom& room : opened.job.rooms) {
    const auto tracker = at ? RoomTracker::rebuild(*opened.store, opened.job, room, records, at)
                            : RoomTracker::open(*opened.store, opened.job, room, records);
    if (!tracker) {
      return Failure{tracker.error()};
    }
    RoomStatus status = room_status_from(tracker.value(), opened.job, room, report.now);
    const auto& gates = tracker.value().notes().site_gates;
    status.missing = missing_notes_from(opened.job, room, records, gates);
    status.to_note_again = gates_to_note_again_from(opened.job, room, gates);
    status.laying = laying_from(records, room.id);
    status.climate = room.service;
    const auto service = service_air_from(*opened.store, opened.job, tracker.value(), report.now);
    if (!service) {
      return Failure{service.error()};
    }
    status.service = service.value();
    if (const IssuedCertificate* newest = newest_of_room(issued, room.id)) {
      status.certificate = line_from(*newest, opened.folder);
    }
    report.rooms.push_back(std::move(status));
  }
  report.certificates = lines_from(issued, opened.folder);
  report.logger_running = FolderLock::is_taken(opened.folder.run_lock());
  if (!report.past) {
    auto checkpoints = checkpoint_summary(opened);
    if (!checkpoints) {
      return Failure{checkpoints.error()};
    }
    report.checkpoints = std::move(checkpoints).value();
  }
  const auto added = add_job_wide(*opened.store, opened.job, records, report);
  if (!added) {
    return Failure{added.error()};
  }
  return report;
}

int exit_status_of(const StatusReport& report) {
  const auto any = [&](Verdict verdict) {
    return std::any_of(report.rooms.begin(), report.rooms.end(), [verdict](const RoomStatus& room) {
      return room.assessment.verdict == verdict;
    });
  };
  if (any(Verdict::not_ready)) {
    return kExitNot;
  }
  return any(Verdict::cannot_tell) || report.rooms.empty() ? kExitCannotTell : kExitDone;
}

}  // namespace logger::app
