#include "logger/app/site/note_requests.hpp"

#include <algorithm>
#include <functional>

#include "analysis/readiness/requirements.hpp"
#include "logger/app/commands/export_rows.hpp"
#include "logger/app/commands/notes/gates/gate_words.hpp"
#include "logger/app/commands/notes/photo_files.hpp"
#include "logger/app/text/listed.hpp"

namespace logger::app {

using store::ErrorCode;
using store::Failure;
using store::failure;
using store::Result;

namespace {

constexpr int kMostPhotosOfANote = 20;

Result<std::vector<path>> photo_files_from(const JobFolder& folder,
                                           const std::vector<std::string>& digests) {
  if (digests.size() > kMostPhotosOfANote) {
    return failure(ErrorCode::invalid_input, std::to_string(digests.size()) +
                                                 " photos; expected at most " +
                                                 std::to_string(kMostPhotosOfANote));
  }
  std::vector<path> files;
  for (const std::string& digest : digests) {
    auto file = kept_photo_file(folder, digest);
    if (!file) {
      return failure(ErrorCode::invalid_input,
                     "photo " + digest + " was not kept; expected the digest of one sent before");
    }
    files.push_back(std::move(file).value());
  }
  return files;
}

// On one line; the command's own refusal lists what each gate asks as well.
Result<void> check_gate(const std::string& name) {
  if (analysis::readiness::site_gate_from_name(name)) {
    return {};
  }
  const auto name_of_gate = [](analysis::readiness::SiteGate gate) { return name_of(gate); };
  return failure(ErrorCode::invalid_input,
                 "gate " + name + ": expected one of " +
                     listed(analysis::readiness::all_site_gates(), name_of_gate));
}

// The kinds that come over the page; the others need options of the command line.
constexpr std::string_view kNoteKinds[] = {"gate",      "remark",     "delivery", "laying",
                                           "placement", "test-begun", "rh-test"};

// The words and readings that answer for a gate. A choice of another kind of note would be lost.
Result<void> put_gate_answers(const web::NoteRequest& note, NoteOptions& options) {
  options.gate.below = note.below;
  options.gate.approval = note.approval;
  options.gate.lines = note.lines;
  if (note.choice.empty()) {
    return {};
  }
  const auto gate =
      note.kind == "gate" ? analysis::readiness::site_gate_from_name(note.subject) : std::nullopt;
  if (!gate || *gate == analysis::readiness::SiteGate::flat) {
    return failure(ErrorCode::invalid_input,
                   "choice `" + note.choice + "`: " +
                       (gate ? "gate flat takes lines of readings, or answer met or not-met"
                             : "belongs to a note of gate, not of " + note.kind));
  }
  put_answer_word(options.gate, *gate, note.choice);
  return {};
}

void put_rh_test(const web::NoteRequest& note, NoteOptions& options) {
  options.holes = note.holes;
  options.service_hours = note.service_hours;
  options.drilled = note.drilled_at ? rfc3339_from_utc(*note.drilled_at) : "";
  options.thickness_mm = note.thickness_mm;
  options.as_found = note.as_found;
}

}  // namespace

Result<NoteOptions> note_options_from(const web::NoteRequest& note, const web::Principal& by,
                                      const JobFolder& folder) {
  if (std::ranges::find(kNoteKinds, note.kind) == std::end(kNoteKinds)) {
    return failure(ErrorCode::invalid_input,
                   "kind `" + note.kind + "`: expected " + listed(kNoteKinds, std::identity{}));
  }
  const auto gate = note.kind == "gate" ? check_gate(note.subject) : Result<void>{};
  if (!gate) {
    return Failure{gate.error()};
  }
  auto photos = photo_files_from(folder, note.photo_sha256_hex);
  if (!photos) {
    return Failure{photos.error()};
  }
  NoteOptions options;
  options.kind = note.kind;
  options.room = note.kind == "placement" ? "" : note.room;
  options.subject = note.kind == "remark"   ? note.remark
                    : note.kind == "laying" ? note.answer
                                            : note.subject;
  options.answer = note.kind == "gate" ? note.answer : "";
  options.remark = note.kind == "remark" ? "" : note.remark;
  options.by = by.name;
  options.at = note.at ? rfc3339_from_utc(*note.at) : "";
  options.carton_celsius = note.carton_celsius;
  put_rh_test(note, options);
  if (const auto answered = put_gate_answers(note, options); !answered) {
    return Failure{answered.error()};
  }
  options.photos = std::move(photos).value();
  return options;
}

Result<void> check_time_of(const web::NoteRequest& note, UtcMicros now) {
  constexpr UtcMicros kEarliest{1'577'836'800'000'000};  // 2020-01-01
  if (!note.at) {
    return {};
  }
  const UtcMicros at = *note.at;
  if (at >= kEarliest && at <= now + analysis::base::micros_from_hours(24)) {
    return {};
  }
  return failure(ErrorCode::invalid_input,
                 "at_utc " + rfc3339_from_utc(at) + ": expected " + rfc3339_from_utc(kEarliest) +
                     " to a day after now, which is " + rfc3339_from_utc(now));
}

std::optional<RequestMark> mark_of(const web::NoteRequest& note, const web::Principal& by) {
  return note.idempotency_key.empty()
             ? std::nullopt
             : std::optional(RequestMark{by.id, note.idempotency_key, sha256_hex_of(note.body)});
}

Result<std::optional<web::AddedNote>> stored_before(const OpenedJob& opened,
                                                    const std::optional<RequestMark>& mark) {
  if (!mark) {
    return std::optional<web::AddedNote>();
  }
  const auto records = job_records_from(*opened.store);
  if (!records) {
    return Failure{records.error()};
  }
  const store::Note* note = note_of_request(records.value(), *mark);
  if (note != nullptr && !asked_the_same(*note, *mark)) {
    return failure(ErrorCode::invalid_input,
                   "idempotency-key: note " + std::to_string(note->id) +
                       " was stored by it for another body; expected a new key for a new note");
  }
  return note == nullptr ? std::nullopt : std::optional(web::AddedNote{note->id, true});
}

}  // namespace logger::app
