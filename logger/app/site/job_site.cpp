#include "logger/app/site/job_site.hpp"

#include <algorithm>

#include "logger/app/charts/room_chart.hpp"
#include "logger/app/commands/notes/gates/gate_questions.hpp"
#include "logger/app/commands/notes/record_note.hpp"
#include "logger/app/daemon/real_clock.hpp"
#include "logger/app/room/room_tracker.hpp"
#include "logger/app/site/note_requests.hpp"
#include "logger/app/site/room_series.hpp"
#include "logger/app/site/site_files.hpp"
#include "logger/app/status/note_lines.hpp"
#include "logger/app/status/status_report.hpp"
#include "logger/app/text/listed.hpp"
#include "logger/web/api/metrics_text.hpp"

namespace logger::app {

using nlohmann::ordered_json;
using store::ErrorCode;
using store::Failure;
using store::failure;
using store::Result;

namespace {

constexpr int kMostListed = 1000;

// What is shown until the first snapshot is made: the keys are there, the rooms not yet.
MadeDocument first_document(const OpenedJob& opened) {
  StatusReport report;
  report.job_name = opened.job.name;
  report.simulated = opened.simulated;
  report.logger_running = true;
  report.now = opened.now;
  return {document_from_status(report), opened.now};
}

// Refusals name options of the command line; here they are keys.
Failure without_dashes(store::Error error) {
  for (auto at = error.context.find("--"); at != std::string::npos; at = error.context.find("--")) {
    error.context.erase(at, 2);
  }
  return Failure{std::move(error)};
}

Result<void> check_limit(int limit) {
  return limit >= 1 && limit <= kMostListed
             ? Result<void>{}
             : failure(ErrorCode::invalid_input, "limit " + std::to_string(limit) +
                                                     ": expected 1 to " +
                                                     std::to_string(kMostListed));
}

// A room that a request names.
Result<void> check_room(const Job& job, const std::string& room_id) {
  if (find_room(job, room_id) != nullptr) {
    return {};
  }
  return failure(ErrorCode::not_found,
                 "room " + room_id + ": expected one of " + listed(job.rooms, &JobRoom::id));
}

}  // namespace

JobSite::JobSite(const OpenedJob& opened, std::function<void(const std::string&)> complain)
    : folder_(opened.folder),
      job_(opened.job),
      job_text_(opened.job_text),
      job_sha256_hex_(opened.job_sha256_hex),
      simulated_(opened.simulated),
      keeper_(
          first_document(opened), [this] { return make_document(); }, std::move(complain)) {}

JobSite::~JobSite() { stop(); }

void JobSite::start() { keeper_.start(); }

void JobSite::stop() {
  keeper_.stop();
  static_cast<void>(write(audit_.rest()));  // nobody is left to tell
}

Result<OpenedJob> JobSite::open(bool for_writing) const {
  OpenedJob opened;
  opened.folder = folder_;
  opened.job = job_;
  opened.job_text = job_text_;
  opened.job_sha256_hex = job_sha256_hex_;
  const auto attached = attach_store(opened, for_writing);
  if (!attached) {
    // A log that is not there is nothing that the asker named wrong.
    const bool gone = attached.error().code == ErrorCode::not_found;
    return gone ? failure(ErrorCode::unavailable, attached.error().context)
                : Failure{attached.error()};
  }
  return Result<OpenedJob>(std::move(opened));
}

Result<MadeDocument> JobSite::make_document() {
  if (const auto written = write(audit_.over_by(utc_of_this_machine())); !written) {
    return Failure{written.error()};
  }
  auto opened = open(false);
  if (!opened) {
    return Failure{opened.error()};
  }
  const auto begun = opened.value().store->begin_snapshot();
  if (!begun) {
    return Failure{begun.error()};
  }
  const auto report = status_report_from(opened.value(), std::nullopt);
  if (!report) {
    return Failure{report.error()};
  }
  return MadeDocument{document_from_status(report.value()), report.value().now};
}

Result<std::string> JobSite::chart_svg(const web::ChartQuery& query) {
  if (const auto known = check_room(job_, query.room); !known) {
    return Failure{known.error()};
  }
  auto opened = open(false);
  return opened ? room_chart_from(opened.value(), {query.room, query.chart, query.hours},
                                  ChartForm::markup)
                : Failure{opened.error()};
}

Result<std::string> JobSite::series_json(const web::SeriesQuery& query) {
  if (const auto known = check_room(job_, query.room); !known) {
    return Failure{known.error()};
  }
  auto opened = open(false);
  return opened ? series_json_from(opened.value(), query) : Failure{opened.error()};
}

Result<std::string> JobSite::notes_json(std::int64_t before_id, int limit) {
  if (const auto fine = check_limit(limit); !fine) {
    return Failure{fine.error()};
  }
  const auto opened = open(false);
  if (!opened) {
    return Failure{opened.error()};
  }
  const auto records = job_records_from(*opened.value().store);
  if (!records) {
    return Failure{records.error()};
  }
  const auto lines = newest_notes(records.value(), before_id, static_cast<std::size_t>(limit) + 1);
  ordered_json notes = ordered_json::array();
  for (std::size_t i = 0; i < std::min(lines.size(), static_cast<std::size_t>(limit)); ++i) {
    notes.push_back(json_from_note(lines[i]));
  }
  const bool more = lines.size() > notes.size();
  return ordered_json{{"notes", notes},
                      {"next_before", more ? notes.back()["id"] : ordered_json(nullptr)}}
      .dump();
}

Result<std::string> JobSite::audit_json(std::int64_t before_id, int limit) {
  if (const auto fine = check_limit(limit); !fine) {
    return Failure{fine.error()};
  }
  const auto opened = open(false);
  if (!opened) {
    return Failure{opened.error()};
  }
  const auto events = opened.value().store->events(0);
  return events ? Result<std::string>(audit_json_from(events.value(), before_id, limit))
                : Failure{events.error()};
}

Result<std::string> JobSite::certificates_json() {
  const auto lines = lines_from(certificates_in(folder_.certificates()), folder_);
  return ordered_json{{"certificates", json_from_certificates(lines)}}.dump();
}

Result<web::StoredFile> JobSite::certificate_file(const std::string& number,
                                                  const std::string& kind) {
  return certificate_file_from(folder_, number, kind);
}

Result<web::StoredFile> JobSite::photo(const std::string& sha256_hex) {
  return photo_from(folder_, sha256_hex);
}

Result<std::string> JobSite::metrics_text() {
  std::error_code error;
  web::MachineFigures figures;
  const auto space = std::filesystem::space(folder_.root, error);
  figures.disk_free_bytes = error ? 0 : space.available;
  const auto store_bytes = std::filesystem::file_size(folder_.store_file(), error);
  figures.store_bytes = error ? 0 : store_bytes;
  figures.at = simulated_ ? snapshot()->made_at : utc_of_this_machine();
  return web::metrics_text_from(snapshot()->status, figures);
}

Result<std::string> JobSite::questions_json() { return gate_questions_json(job_); }

Result<std::string> JobSite::keep_photo(const std::string& bytes) {
  return photo_taken_in(folder_, bytes);
}

Result<web::AddedNote> JobSite::add_note(const web::NoteRequest& note, const web::Principal& by) {
  const auto options = note_options_from(note, by, folder_);
  if (!options) {
    return Failure{options.error()};
  }
  auto opened = open(true);
  if (!opened) {
    return Failure{opened.error()};
  }
  const auto mark = mark_of(note, by);
  const auto before = stored_before(opened.value(), mark);
  if (!before) {
    return Failure{before.error()};
  }
  if (before.value()) {
    return *before.value();
  }
  if (const auto timely = check_time_of(note, opened.value().now); !timely) {
    return Failure{timely.error()};
  }
  const auto noted = record_note(opened.value(), options.value(), mark);
  if (!noted) {
    return without_dashes(noted.error());
  }
  keeper_.changed();
  return web::AddedNote{noted.value().id, false};
}

Result<void> JobSite::acknowledge(const std::string& alert_key, const std::string& remark,
                                  const web::Principal& by) {
  NoteOptions options;
  options.kind = "acknowledge";
  options.subject = alert_key;
  options.remark = remark;
  options.by = by.name;
  auto opened = open(true);
  if (!opened) {
    return Failure{opened.error()};
  }
  const auto noted = record_note(opened.value(), options);
  if (!noted) {
    return without_dashes(noted.error());
  }
  keeper_.changed();
  return {};
}

Result<void> JobSite::audit(const web::AuditEntry& entry) { return write(audit_.add(entry)); }

Result<void> JobSite::write(std::vector<store::Event> events) const {
  if (events.empty()) {
    return {};
  }
  const auto store = store::open_sqlite_store(folder_.store_file().string(), {});
  if (!store) {
    return Failure{store.error()};
  }
  const auto committed = store.value()->commit({.events = std::move(events)});
  return committed ? Result<void>{} : Failure{committed.error()};
}

}  // namespace logger::app
