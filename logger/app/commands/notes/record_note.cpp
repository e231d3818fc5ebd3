#include "logger/app/commands/notes/record_note.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "logger/app/alerts/acknowledgements.hpp"
#include "logger/app/commands/notes/calibration_note.hpp"
#include "logger/app/commands/notes/counts_from.hpp"
#include "logger/app/commands/notes/gates/gate_content.hpp"
#include "logger/app/commands/notes/note_contents.hpp"
#include "logger/app/commands/notes/note_order.hpp"
#include "logger/app/commands/notes/photo_files.hpp"
#include "logger/app/commands/notes/slab/slab_test_contents.hpp"
#include "logger/app/commands/notes/slab/slab_test_findings.hpp"
#include "logger/app/commands/notes/slab/stated_hours.hpp"
#include "logger/app/daemon/real_clock.hpp"
#include "logger/app/handover/laid_content.hpp"
#include "logger/app/room/gate_notes.hpp"
#include "logger/app/room/room_tracker.hpp"
#include "logger/app/room/site_work.hpp"
#include "logger/app/text/listed.hpp"
#include "logger/app/text/terminal_text.hpp"
#include "logger/store/json_line.hpp"

namespace logger::app {

using nlohmann::json;
using store::ErrorCode;
using store::failure;
using store::Note;
using store::Result;

namespace {

Result<const JobRoom*> room_of(const Job& job, const std::string& option) {
  if (option.empty() && job.rooms.size() == 1) {
    return &job.rooms.front();
  }
  if (const JobRoom* room = find_room(job, option)) {
    return room;
  }
  const std::string known = listed(job.rooms, &JobRoom::id);
  return failure(ErrorCode::invalid_input,
                 option.empty() ? "--room is needed; job.json has " + known
                                : "room `" + option + "` is not in job.json; it has " + known);
}

constexpr std::string_view kLaidKind = "laying finished";
bool is_laid(const NoteOptions& options) {
  return options.kind == "laying" && options.subject == "finished";
}

// Where what was laid differs from the plan is told.
Result<void> fill_laying(Note& note, const NoteOptions& options, const JobRoom& room,
                         NotedRow& row) {
  if (options.subject != "began" && options.subject != "finished") {
    return failure(ErrorCode::invalid_input,
                   "laying: `" + options.subject + "`; expected began or finished");
  }
  json content{{"step", options.subject}, {"remark", options.remark}};
  if (is_laid(options)) {
    const auto laid = laid_floor_from(options, room);
    if (!laid) {
      return store::Failure{laid.error()};
    }
    add_laid_floor(content, laid.value());
    for (const std::string& finding : laid_findings(laid.value(), room)) {
      row.told.push_back("finding: " + finding);
    }
  }
  note.content_json = store::json_line(content);
  return {};
}

// Of the alert as it fires now.
Result<void> fill_acknowledgement(Note& note, const NoteOptions& options, OpenedJob& opened) {
  const auto stated_at = options.at.empty() ? std::nullopt : std::optional(note.at);
  auto content =
      acknowledgement_content(*opened.store, {options.subject, options.remark, stated_at});
  if (!content) {
    return store::Failure{content.error()};
  }
  note.kind = "acknowledgement";
  note.content_json = std::move(content).value();
  return {};
}

// Of a gate: what was said, answered or measured.
Result<void> fill_gate(Note& note, const NoteOptions& options, const JobRoom& room,
                       const JobRecords& records, NotedRow& row) {
  auto gate = gate_note_from(options, room, records_as_of(records, note.at), note.at);
  if (!gate) {
    return store::Failure{gate.error()};
  }
  note.content_json = store::json_line(gate.value().content);
  row.more = options.answer.empty() ? ' ' + gate.value().state : std::string();
  row.told = std::move(gate.value().told);
  const Note* other = newest_gate_note(records, note.room_id, options.subject);
  if (other != nullptr && other->at > note.at) {
    row.told.push_back("what was seen later, " + analysis::base::minute_text_from_utc(other->at) +
                       " (" + gate_state_in(content_of(*other)) + "), still counts");
  }
  return {};
}

Result<void> fill_rh_test(Note& note, const NoteOptions& options, const JobRoom& room,
                          const JobRecords& records) {
  const auto before = room_notes_from(records, room, note.at);
  const auto content = rh_test_content_from(
      options, {room.slab_build, before.sleeves_drilled_at, note.at, room.slab_poured_at});
  if (!content) {
    return store::Failure{content.error()};
  }
  note.content_json = store::json_line(content.value());
  return {};
}

// Room and content of a note, by its kind; `row` takes what there is to tell.
Result<void> fill(Note& note, const NoteOptions& options, OpenedJob& opened,
                  const JobRecords& records, NotedRow& row) {
  const Job& job = opened.job;
  if (options.kind == "acknowledge") {
    return fill_acknowledgement(note, options, opened);
  }
  if (options.kind == "placement") {
    const auto place = find_channel(job, options.subject);
    if (!place) {
      return store::Failure{place.error()};
    }
    note.room_id = place.value().channel->room_id;
    note.content_json =
        store::json_line({{"channel_id", options.subject}, {"remark", options.remark}});
    return {};
  }
  const auto found = room_of(job, options.room);
  if (!found) {
    return store::Failure{found.error()};
  }
  const JobRoom& room = *found.value();
  note.room_id = room.id;
  const std::string_view step = options.kind == "laying" ? options.subject : std::string_view();
  if (const auto ordered = check_note_order(note, step, room, records); !ordered) {
    return ordered;
  }
  if (options.kind == "gate") {
    return fill_gate(note, options, room, records, row);
  }
  if (options.kind == "laying") {
    return fill_laying(note, options, room, row);
  }
  if (options.kind == "rh-test") {
    return fill_rh_test(note, options, room, records);
  }
  using Maker = Result<json> (*)(const NoteOptions&);
  static constexpr std::pair<std::string_view, Maker> kMakers[] = {
      {"delivery", delivery_content_from},
      {"test-begun", test_begun_content_from},
      {"dish-test", dish_test_content_from},
      {"carbide-test", carbide_test_content_from},
      {"wood-test", wood_test_content_from}};
  const auto maker = std::find_if(std::begin(kMakers), std::end(kMakers),
                                  [&](const auto& entry) { return entry.first == options.kind; });
  if (maker != std::end(kMakers)) {
    const auto content = maker->second(options);
    if (!content) {
      return store::Failure{content.error()};
    }
    note.content_json = store::json_line(content.value());
  } else if (options.kind == "remark" && !options.subject.empty()) {
    note.content_json = store::json_line({{"remark", options.subject}});
  } else {
    return failure(ErrorCode::invalid_input,
                   options.kind == "remark"
                       ? "note remark: no text; expected what is to be remarked, in quotes"
                       : "note `" + options.kind +
                             "`; expected delivery, gate, guide, placement, calibration, "
                             "test-begun, rh-test, dish-test, carbide-test, wood-test, laying, "
                             "acknowledge or remark");
  }
  return {};
}

// The copies are there before the note that names them.
Result<void> add_photos(Note& note, const NoteOptions& options, const JobFolder& folder) {
  if (options.photos.empty()) {
    return {};
  }
  const auto kept = keep_photos(folder, options.photos);
  if (!kept) {
    return store::Failure{kept.error()};
  }
  json content = content_of(note);
  for (const KeptPhoto& photo : kept.value()) {
    content["photos"].push_back({{"sha256", photo.sha256_hex}, {"bytes", photo.bytes}});
  }
  note.content_json = store::json_line(content);
  return {};
}

// Of a test of the slab: its arithmetic and what it means, or why it may not be read yet.
Result<void> add_findings(NotedRow& row, const Note& note, const NoteOptions& options,
                          const Job& job, const JobRecords& records) {
  const JobRoom* room = find_room(job, note.room_id);
  if (room == nullptr) {
    return {};
  }
  const auto before = room_notes_from(records, *room, note.at);
  const auto found = slab_test_findings_from(note, *room, before.begun_tests, options.as_found);
  if (!found) {
    return store::Failure{found.error()};
  }
  for (const std::string& sentence : found.value()) {
    row.told.push_back("  " + sentence);
  }
  return {};
}

// Of a test of the slab: the hours stated against those logged. Kept as found, the hours that the
// log shows outside are taken off, so that it does not count.
Result<void> hold_against_log(NotedRow& row, Note& note, const NoteOptions& options,
                              OpenedJob& opened, const JobRecords& records) {
  const JobRoom* room = find_room(opened.job, note.room_id);
  if (room == nullptr) {
    return {};
  }
  const auto stated = stated_hours_from(opened, *room, records, note);
  if (!stated) {
    return store::Failure{stated.error()};
  }
  if (stated.value().contradicted && !options.as_found) {
    return failure(ErrorCode::invalid_input, stated.value().refusal);
  }
  if (stated.value().contradicted) {
    json content = content_of(note);
    content["outside_hours"] = analysis::base::hours_from(stated.value().outside);
    note.content_json = store::json_line(content);
  }
  if (!stated.value().line.empty()) {
    row.told.push_back("  " + stated.value().line);
  }
  return {};
}

// What it counts from, and that nothing handed out before changes.
void add_counting(NotedRow& row, const Note& note, const JobRecords& records,
                  const JobFolder& folder) {
  const std::string counts = counts_from_text(note, records);
  if (counts.empty()) {
    return;
  }
  row.told.push_back(counts);
  const std::string stays =
      issued_stays_text(note.room_id, note.at, certificates_in(folder.certificates()));
  if (!stays.empty()) {
    row.told.push_back(stays);
  }
}

constexpr const char* kRequest = "request";

void add_mark(Note& note, const RequestMark& mark) {
  json content = content_of(note);
  content[kRequest] = {
      {"asker", mark.asker}, {"key", mark.key}, {"body_sha256", mark.body_sha256_hex}};
  note.content_json = store::json_line(content);
}

Result<NotedRow> append_note(Note& note, const NoteOptions& options, OpenedJob& opened,
                             const std::optional<RequestMark>& mark) {
  const auto records = job_records_from(*opened.store);
  if (!records) {
    return store::Failure{records.error()};
  }
  NotedRow row;
  auto prepared = fill(note, options, opened, records.value(), row);
  if (prepared) {
    add_counting(row, note, records.value(), opened.folder);
    prepared = hold_against_log(row, note, options, opened, records.value());
  }
  if (prepared) {
    prepared = add_findings(row, note, options, opened.job, records.value());
  }
  prepared = prepared ? add_photos(note, options, opened.folder) : prepared;
  if (!prepared) {
    return store::Failure{prepared.error()};
  }
  if (mark) {
    add_mark(note, *mark);
  }
  const auto appended = opened.store->append_note(note);
  if (!appended) {
    return store::Failure{appended.error()};
  }
  const std::size_t photos = options.photos.size();
  row.id = appended.value();
  row.at = note.at;
  row.more += photos == 0 ? std::string()
                          : ", " + std::to_string(photos) + (photos == 1 ? " photo" : " photos");
  return row;
}

struct GivenOption {
  const char* name;
  bool given;
  std::string_view kind;             // that takes it
  std::string_view other_kind = {};  // that takes it as well
};

}  // namespace

std::string text_from_told(const std::string& line) {
  if (columns_of(line) <= kTerminalWidth) {
    return line;
  }
  const std::size_t indent = line.find_first_not_of(' ');
  return std::string(indent, ' ') + wrapped(line.substr(indent), indent);
}

Result<void> check_note_options(const NoteOptions& o) {
  const GivenOption options[] = {
      {"--gain", o.gain != 1.0, "calibration"},
      {"--offset", o.offset != 0.0, "calibration"},
      {"--uncertainty", o.expanded_uncertainty != 0.0, "calibration"},
      {"--due", !o.due.empty(), "calibration"},
      {"--reference", !o.reference.empty(), "calibration"},
      {"--fixed-point", !o.fixed_points.empty(), "calibration"},
      {"--carton-celsius", o.carton_celsius.has_value(), "delivery"},
      {"--dish", !o.dishes.empty(), "dish-test"},
      {"--service-hours", o.service_hours.has_value(), "rh-test", "dish-test"},
      {"--as-found", o.as_found, "rh-test", "dish-test"},
      {"--hole", !o.holes.empty(), "rh-test"},
      {"--drilled", !o.drilled.empty(), "rh-test"},
      {"--thickness", o.thickness_mm.has_value(), "rh-test"},
      {"--both-faces", o.both_faces, "rh-test"},
      {"--sample", !o.samples_cm_percent.empty(), "carbide-test"},
      {"--heated", o.heated, "carbide-test"},
      {"--wood", !o.wood_readings.empty(), "wood-test"},
      {"--meter-compensates", o.meter_compensates, "wood-test"},
      {"--species", !o.species.empty(), "wood-test"},
      {"--gap", !o.gaps.empty(), kLaidKind},
      {"--joint", !o.joints.empty(), kLaidKind},
      {"--rows", o.rows_laid.has_value(), kLaidKind},
      {"--first-row", !o.first_row.empty(), kLaidKind},
      {"--cartons-used", o.cartons_used.has_value(), kLaidKind},
      {"--cartons-left", o.cartons_left.has_value(), kLaidKind},
      {"--use", !o.gate.use.empty(), "gate"},
      {"--heating", !o.gate.heating.empty(), "gate"},
      {"--found", !o.gate.found.empty(), "gate"},
      {"--below", !o.gate.below.empty(), "gate"},
      {"--barrier", !o.gate.barrier.empty(), "gate"},
      {"--approval", !o.gate.approval.empty(), "gate"},
      {"--grid", !o.gate.grid.empty(), "gate"},
      {"--heights", !o.gate.heights.empty(), "gate"},
      {"--spacing", !o.gate.spacing.empty(), "gate"},
      {"--line", !o.gate.lines.empty(), "gate"},
      {"--reading-mm", o.gate.reading_mm.has_value(), "gate"},
      {"--map", !o.gate.map.empty(), "gate"}};
  const std::string kind = is_laid(o) ? std::string(kLaidKind) : o.kind;
  for (const GivenOption& option : options) {
    if (option.given && option.kind != kind && option.other_kind != kind) {
      return failure(
          ErrorCode::invalid_input,
          std::string(option.name) + " belongs to a note of " + std::string(option.kind) +
              (option.other_kind.empty() ? "" : " or " + std::string(option.other_kind)) +
              ", not of " + (o.kind == "laying" ? "laying " + o.subject : o.kind));
    }
  }
  // Words that no kind takes are a text without quotes, most often.
  const bool takes_subject = o.kind == "gate" || o.kind == "placement" || o.kind == "calibration" ||
                             o.kind == "remark" || o.kind == "laying" || o.kind == "acknowledge" ||
                             o.kind == "test-begun";
  const bool known_kind =
      takes_subject || o.kind == "delivery" || o.kind == "guide" || o.kind.ends_with("-test");
  const std::string& stray = o.kind == "gate" ? std::string() : o.answer;
  if (known_kind && (!stray.empty() || (!takes_subject && !o.subject.empty()))) {
    return failure(ErrorCode::invalid_input,
                   "`" + (stray.empty() ? o.subject : stray) + "`: a note of " + o.kind +
                       " takes no such word; a text of several words stands in quotes");
  }
  if (!o.photos.empty() && (o.kind == "calibration" || o.kind == "guide")) {
    return failure(ErrorCode::invalid_input,
                   o.kind == "guide" ? "--photo: the guide asks for photos itself"
                                     : "--photo belongs to no calibration; note a remark");
  }
  return {};
}

const Note* note_of_request(const JobRecords& records, const RequestMark& mark) {
  const auto found = std::ranges::find_if(records.notes, [&](const Note& note) {
    // Most notes hold no key at all: they are not taken apart.
    if (note.content_json.find(mark.key) == std::string::npos) {
      return false;
    }
    const json request = content_of(note).value(kRequest, json::object());
    return request.value("asker", "") == mark.asker && request.value("key", "") == mark.key;
  });
  return found == records.notes.end() ? nullptr : &*found;
}

bool asked_the_same(const Note& note, const RequestMark& mark) {
  return content_of(note).value(kRequest, json::object()).value("body_sha256", "") ==
         mark.body_sha256_hex;
}

Result<NotedRow> record_note(OpenedJob& opened, const NoteOptions& options,
                             const std::optional<RequestMark>& mark) {
  const auto at = moment_from_option("--at", options.at);
  if (!at) {
    return store::Failure{at.error()};
  }
  for (const auto& checked : {check_note_options(options), check_text("--by", options.by, 1, 100),
                              check_text("--remark", options.remark, 0, 500),
                              check_text("the text", options.subject, 0, 500)}) {
    if (!checked) {
      return store::Failure{checked.error()};
    }
  }
  Note row;
  row.at = at.value().value_or(opened.now);
  row.noted_at = utc_of_this_machine();
  row.kind = options.kind;
  row.by = options.by;
  if (row.at > row.noted_at) {
    return failure(ErrorCode::invalid_input,
                   "--at " + options.at + " is in the future; note what has happened");
  }
  return options.kind == "calibration" ? record_calibration(opened, options, row.at)
                                       : append_note(row, options, opened, mark);
}

}  // namespace logger::app
