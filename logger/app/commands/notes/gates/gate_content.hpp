// The content of a note on a gate: a person's word, an answer that decides, or readings that do.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "logger/app/commands/commands.hpp"
#include "logger/app/job/job.hpp"
#include "logger/app/room/room_tracker.hpp"

namespace logger::app {

struct GateNote {
  nlohmann::json content;         // docs/gates.md
  std::string state;              // "met", "not met", "open"
  std::vector<std::string> told;  // for the person who notes it, one line each
};

// Writes the map where one is asked for; nothing else. invalid_input, one line: what does not fit
// together, a file that can't be read, an answer by hand against what was answered or measured.
// `records`: as of `seen_at`, the moment that the note is of.
[[nodiscard]] store::Result<GateNote> gate_note_from(const NoteOptions& options,
                                                     const JobRoom& room, const JobRecords& records,
                                                     analysis::base::UtcMicros seen_at);

}  // namespace logger::app
