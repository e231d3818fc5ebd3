// What the notes of a room's gates say, and what nobody has noted yet. Pure.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "logger/app/room/room_tracker.hpp"

namespace logger::app {

// By a gate note's content: "met", "not met", "open" (answered, but what decides is to come).
[[nodiscard]] std::string gate_state_in(const nlohmann::json& content);
// The note of that gate in the room that was seen last; nullptr where there is none.
[[nodiscard]] const store::Note* newest_gate_note(const JobRecords& records,
                                                  const std::string& room_id,
                                                  std::string_view gate);

struct MissingNote {
  std::string what;   // "flat", "delivery"
  std::string why;    // "not noted yet", "open"
  std::string words;  // of the command, after the job folder
  std::string to_do;  // what closes an open gate; empty otherwise
};
// Gates, delivery and tests that the room asks for and nobody noted, in the order of the work.
// `gates`: as the records tell of them (RoomNotes).
[[nodiscard]] std::vector<MissingNote> missing_notes_from(
    const Job& job, const JobRoom& room, const JobRecords& records,
    const std::vector<analysis::readiness::SiteGateNote>& gates);
// Gates that the room asks for and that were noted as not met, with the words that note them again.
[[nodiscard]] std::vector<MissingNote> gates_to_note_again_from(
    const Job& job, const JobRoom& room,
    const std::vector<analysis::readiness::SiteGateNote>& gates);
// With what closes it: "open: ask the floor's supplier".
[[nodiscard]] std::string why_of(const MissingNote& missing);
// "dwellog note JOBDIR gate flat ..."; the folder in quotes where a shell needs them.
[[nodiscard]] std::string command_of(const MissingNote& missing, const std::string& job_dir);

}  // namespace logger::app
