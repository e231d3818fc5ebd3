#include "logger/app/status/status_report.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "logger/app/alert_states.hpp"
#include "logger/app/commands/certificates/issued_certificates.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/job_folder.hpp"

namespace logger::app {

using analysis::alerts::Alert;
using analysis::alerts::Phase;
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

RoomStatus room_status_from(const RoomTracker& tracker, const JobRoom& room, UtcMicros now) {
  RoomStatus status;
  status.room_id = room.id;
  status.room_name = room.name;
  status.floor_area_m2 = room.floor_area_m2;
  status.floor_product = room.floor_product;
  status.dwell_required_hours = analysis::base::hours_from(room.requirements.dwell.value);
  const auto evidence = tracker.evidence(now);
  status.assessment = analysis::readiness::assess_room(room.requirements, evidence);
  status.dwell = evidence.dwell;
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
Result<void> add_job_wide(store::ReadingStore& store, const Job& job, StatusReport& report) {
  const auto alerts = alerts_from_store(store);
  const auto messages = store.recent_messages(kMessagesShown);
  const auto undelivered = store.undelivered_messages();
  const auto gaps = store.gaps();
  if (!alerts || !messages || !undelivered || !gaps) {
    return Failure{!alerts        ? alerts.error()
                   : !messages    ? messages.error()
                   : !undelivered ? undelivered.error()
                                  : gaps.error()};
  }
  for (const Alert& alert : alerts.value()) {
    if (!report.past && alert.state.phase != Phase::inactive) {
      report.alerts.push_back(
          {key_of(alert), std::string(name_of(alert.state.phase)), alert.state.since});
    }
  }
  if (!report.past) {
    report.messages = messages.value();
    auto boxes = box_lines_from(store, job);
    const auto seen = store.last_seen();
    if (!boxes || !seen) {
      return Failure{!boxes ? boxes.error() : seen.error()};
    }
    report.boxes = std::move(boxes).value();
    report.logger_seen_at = seen.value();
  }
  report.undelivered_messages = static_cast<std::int64_t>(undelivered.value().size());
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

std::optional<CertificateLine> certificate_line(const std::vector<IssuedCertificate>& issued,
                                                const std::string& room_id) {
  const IssuedCertificate* newest = newest_of_room(issued, room_id);
  if (newest == nullptr) {
    return std::nullopt;
  }
  const auto& facts = newest->read.facts;
  return CertificateLine{facts.number, facts.issued_at,
                         facts.supersedes ? facts.supersedes->number : ""};
}

}  // namespace

Result<StatusReport> status_report_from(OpenedJob& opened, std::optional<UtcMicros> at) {
  StatusReport report;
  report.job_name = opened.job.name;
  report.simulated = opened.simulated;
  report.past = at.has_value();
  report.now = at.value_or(opened.now);
  const auto records = job_records_from(*opened.store);
  if (!records) {
    return Failure{records.error()};
  }
  const auto issued = report.past ? std::vector<IssuedCertificate>{}
                                  : certificates_in(opened.folder.certificates());
  for (const JobRoom& room : opened.job.rooms) {
    const auto tracker =
        at ? RoomTracker::rebuild(*opened.store, opened.job, room, records.value(), at)
           : RoomTracker::open(*opened.store, opened.job, room, records.value());
    if (!tracker) {
      return Failure{tracker.error()};
    }
    report.rooms.push_back(room_status_from(tracker.value(), room, report.now));
    report.rooms.back().certificate = certificate_line(issued, room.id);
  }
  report.logger_running = FolderLock::is_taken(opened.folder.run_lock());
  if (!report.past) {
    auto checkpoints = checkpoint_summary(opened);
    if (!checkpoints) {
      return Failure{checkpoints.error()};
    }
    report.checkpoints = std::move(checkpoints).value();
  }
  const auto added = add_job_wide(*opened.store, opened.job, report);
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
