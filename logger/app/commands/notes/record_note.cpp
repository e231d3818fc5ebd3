#include "logger/app/commands/notes/record_note.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "logger/app/alerts/acknowledgements.hpp"
#include "logger/app/commands/notes/calibration_note.hpp"
#include "logger/app/commands/notes/gates/gate_content.hpp"
#include "logger/app/commands/notes/note_contents.hpp"
#include "logger/app/commands/notes/photo_files.hpp"
#include "logger/app/commands/notes/slab/slab_test_contents.hpp"
#include "logger/app/commands/notes/slab/slab_test_findings.hpp"
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

Result<std::string> room_of(const Job& job, const std::string& option) {
  if (option.empty() && job.rooms.size() == 1) {
    return job.rooms.front().id;
  }
  if (find_room(job, option) != nullptr) {
    return option;
  }
  const std::string known = listed(job.rooms, &JobRoom::id);
  return failure(ErrorCode::invalid_input,
                 option.empty() ? "--room is needed; job.json has " + known
                                : "room `" + option + "` is not in job.json; it has " + known);
}

Result<json> laying_content(const NoteOptions& options) {
  if (options.subject != "began" && options.subject != "finished") {
    return failure(ErrorCode::invalid_input,
                   "laying: `" + options.subject + "`; expected began or finished");
  }
  return json{{"step", options.subject}, {"remark", options.remark}};
}

constexpr std::string_view kLaidKind = "laying finished";
bool is_laid(const NoteOptions& options) {
  return options.kind == "laying" && options.subject == "finished";
}

// What was laid, into the note's content; where it differs from the plan is told.
Result<void> add_laid(Note& note, const NoteOptions& options, const JobRoom& room, NotedRow& row) {
  const auto laid = laid_floor_from(options, room);
  if (!laid) {
    return store::Failure{laid.error()};
  }
  json content = content_of(note);
  add_laid_floor(content, laid.value());
  note.content_json = store::json_line(content);
  for (const std::string& finding : laid_findings(laid.value(), room)) {
    row.told.push_back("finding: " + finding);
  }
  return {};
}

// Laying that ends has begun, and not after its end.
Result<void> check_laying(const Note& note, OpenedJob& opened) {
  const auto records = job_records_from(*opened.store);
  if (!records) {
    return store::Failure{records.error()};
  }
  const auto began = laying_from(records.value(), note.room_id).began_at;
  if (began && *began <= note.at) {
    return {};
  }
  return failure(
      ErrorCode::invalid_input,
      "laying finished: " + (began ? "it began at " + analysis::base::rfc3339_from_utc(*began) +
                                         ", expected a time after that"
                                   : std::string("note first when it began (note laying began)")));
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
Result<void> fill_gate(Note& note, const NoteOptions& options, OpenedJob& opened, NotedRow& row) {
  const auto records = job_records_from(*opened.store);
  if (!records) {
    return store::Failure{records.error()};
  }
  auto gate = gate_note_from(options, *find_room(opened.job, note.room_id),
                             records_as_of(records.value(), note.at));
  if (!gate) {
    return store::Failure{gate.error()};
  }
  note.content_json = store::json_line(gate.value().content);
  row.more = options.answer.empty() ? ' ' + gate.value().state : std::string();
  row.told = std::move(gate.value().told);
  const Note* other = newest_gate_note(records.value(), note.room_id, options.subject);
  if (other != nullptr && other->at > note.at) {
    row.told.push_back("what was seen later, " + analysis::base::minute_text_from_utc(other->at) +
                       " (" + gate_state_in(content_of(*other)) + "), still counts");
  }
  return {};
}

Result<void> fill_rh_test(Note& note, const NoteOptions& options, OpenedJob& opened) {
  const auto records = job_records_from(*opened.store);
  if (!records) {
    return store::Failure{records.error()};
  }
  const JobRoom& room = *find_room(opened.job, note.room_id);
  const auto before = room_notes_from(records.value(), room, note.at);
  const auto content = rh_test_content_from(
      options, {room.slab_build, before.sleeves_drilled_at, note.at, room.slab_poured_at});
  if (!content) {
    return store::Failure{content.error()};
  }
  note.content_json = store::json_line(content.value());
  return {};
}

// Room and content of a note, by its kind; `row` takes what there is to tell.
Result<void> fill(Note& note, const NoteOptions& options, OpenedJob& opened, NotedRow& row) {
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
  const auto room = room_of(job, options.room);
  if (!room) {
    return store::Failure{room.error()};
  }
  note.room_id = room.value();
  if (options.kind == "gate") {
    return fill_gate(note, options, opened, row);
  }
  if (options.kind == "rh-test") {
    return fill_rh_test(note, options, opened);
  }
  using Maker = Result<json> (*)(const NoteOptions&);
  static constexpr std::pair<std::string_view, Maker> kMakers[] = {
      {"delivery", delivery_content_from},   {"test-begun", test_begun_content_from},
      {"dish-test", dish_test_content_from}, {"carbide-test", carbide_test_content_from},
      {"wood-test", wood_test_content_from}, {"laying", laying_content}};
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
                   "note `" + options.kind + "`" +
                       (options.kind == "remark" ? " without text" : "") +
                       "; expected delivery, gate, guide, placement, calibration, "
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
                          OpenedJob& opened) {
  const JobRoom* room = find_room(opened.job, note.room_id);
  if (room == nullptr) {
    return {};
  }
  const auto records = job_records_from(*opened.store);
  if (!records) {
    return store::Failure{records.error()};
  }
  const auto before = room_notes_from(records.value(), *room, note.at);
  const auto found = slab_test_findings_from(note, *room, before.begun_tests, options.as_found);
  if (!found) {
    return store::Failure{found.error()};
  }
  for (const std::string& sentence : found.value()) {
    row.told.push_back("  " + sentence);
  }
  return {};
}

Result<NotedRow> append_note(Note& note, const NoteOptions& options, OpenedJob& opened) {
  NotedRow row;
  auto prepared = fill(note, options, opened, row);
  if (prepared && is_laid(options)) {
    prepared = check_laying(note, opened);
    prepared =
        prepared ? add_laid(note, options, *find_room(opened.job, note.room_id), row) : prepared;
  }
  if (prepared) {
    prepared = add_findings(row, note, options, opened);
  }
  prepared = prepared ? add_photos(note, options, opened.folder) : prepared;
  if (!prepared) {
    return store::Failure{prepared.error()};
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
  std::string_view kind;  // that takes it
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
  const GivenOption options[] = {{"--gain", o.gain != 1.0, "calibration"},
                                 {"--offset", o.offset != 0.0, "calibration"},
                                 {"--uncertainty", o.expanded_uncertainty != 0.0, "calibration"},
                                 {"--due", !o.due.empty(), "calibration"},
                                 {"--reference", !o.reference.empty(), "calibration"},
                                 {"--fixed-point", !o.fixed_points.empty(), "calibration"},
                                 {"--carton-celsius", o.carton_celsius.has_value(), "delivery"},
                                 {"--dish", !o.dishes.empty(), "dish-test"},
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
                                 {"--spacing", !o.gate.spacing.empty(), "gate"},
                                 {"--line", !o.gate.lines.empty(), "gate"},
                                 {"--reading-mm", o.gate.reading_mm.has_value(), "gate"},
                                 {"--map", !o.gate.map.empty(), "gate"}};
  const std::string kind = is_laid(o) ? std::string(kLaidKind) : o.kind;
  for (const GivenOption& option : options) {
    if (option.given && option.kind != kind) {
      return failure(ErrorCode::invalid_input,
                     std::string(option.name) + " belongs to a note of " +
                         std::string(option.kind) + ", not of " +
                         (o.kind == "laying" ? "laying " + o.subject : o.kind));
    }
  }
  if ((o.service_hours || o.as_found) && o.kind != "dish-test" && o.kind != "rh-test") {
    return failure(ErrorCode::invalid_input,
                   std::string(o.as_found ? "--as-found" : "--service-hours") +
                       " belongs to a note of rh-test or dish-test, not of " + o.kind);
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

Result<NotedRow> record_note(OpenedJob& opened, const NoteOptions& options) {
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
                                       : append_note(row, options, opened);
}

}  // namespace logger::app
