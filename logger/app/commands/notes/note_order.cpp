#include "logger/app/commands/notes/note_order.hpp"

#include <algorithm>

#include "logger/app/room/site_work.hpp"

namespace logger::app {

using analysis::base::rfc3339_from_utc;
using store::ErrorCode;
using store::failure;
using store::Note;
using store::Result;

namespace {

Result<void> check_end(const Note& note, const JobRecords& records) {
  const auto began = laying_from(records, note.room_id).began_at;
  if (began && *began <= note.at) {
    return {};
  }
  return failure(
      ErrorCode::invalid_input,
      "laying finished: " +
          (began ? "it began at " + rfc3339_from_utc(*began) + ", expected a time after that"
                 : std::string("note first when it began (note laying began)")));
}

// Cartons that came after the end are those of a floor laid anew.
Result<void> check_begin(const Note& note, const JobRecords& records) {
  const auto finished = laying_from(records, note.room_id).finished_at;
  const auto is_new_delivery = [&](const Note& other) {
    return other.kind == "delivery" && other.room_id == note.room_id && other.at > *finished &&
           other.at <= note.at;
  };
  if (!finished || note.at <= *finished || std::ranges::any_of(records.notes, is_new_delivery)) {
    return {};
  }
  return failure(ErrorCode::invalid_input,
                 "laying began: " + rfc3339_from_utc(note.at) + " is after its noted end, " +
                     rfc3339_from_utc(*finished) +
                     "; expected a time before that, or, where the room is laid anew, first a note "
                     "of the delivery of its cartons");
}

Result<void> check_delivery(const Note& note, const JobRoom& room, const JobRecords& records) {
  if (room.slab_poured_at && note.at < *room.slab_poured_at) {
    return failure(ErrorCode::invalid_input,
                   "delivery: " + rfc3339_from_utc(note.at) +
                       " is before the slab was poured (slab_poured_at of job.json, up to " +
                       rfc3339_from_utc(*room.slab_poured_at) + ")");
  }
  const auto laying = laying_from(records, note.room_id);
  if (laying.began_at && note.at > *laying.began_at &&
      !(laying.finished_at && note.at > *laying.finished_at)) {
    return failure(ErrorCode::invalid_input,
                   "delivery: " + rfc3339_from_utc(note.at) + " is after laying began, " +
                       rfc3339_from_utc(*laying.began_at) +
                       "; expected when the cartons came (--at), or first laying began noted anew "
                       "where that is wrong; more cartons are a remark");
  }
  return {};
}

}  // namespace

Result<void> check_note_order(const Note& note, std::string_view step, const JobRoom& room,
                              const JobRecords& records) {
  return note.kind == "delivery" ? check_delivery(note, room, records)
         : step == "finished"    ? check_end(note, records)
         : step == "began"       ? check_begin(note, records)
                                 : Result<void>{};
}

}  // namespace logger::app
