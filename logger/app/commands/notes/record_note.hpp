// Puts what a person observed or did into the store, for the command line and the page alike.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/room/room_tracker.hpp"

namespace logger::app {

struct NotedRow {
  std::int64_t id = 0;  // of the note, or of the calibration
  UtcMicros at;
  std::string more;               // what else there is to tell: ", 2 photos"; may be empty
  std::vector<std::string> told;  // lines of their own, may be empty
};

// One of `told` for a terminal: as it is where it fits, so that columns stay, else wrapped under
// its own indent.
[[nodiscard]] std::string text_from_told(const std::string& line);

// An option or a word that the kind does not take would be lost silently: invalid_input.
[[nodiscard]] store::Result<void> check_note_options(const NoteOptions& options);

// What a program calls its request for a note, so that the same one again stores nothing more. Kept
// in the note's content as `request`, hence one with the note and there after a restart.
struct RequestMark {
  std::string asker;            // id of the principal: keys of others are others
  std::string key;              // as sent
  std::string body_sha256_hex;  // of what was asked
};
// The note that was stored for that asker's key; nullptr where there is none. O(notes).
[[nodiscard]] const store::Note* note_of_request(const JobRecords& records,
                                                 const RequestMark& mark);
// Whether the note was stored for the same body.
[[nodiscard]] bool asked_the_same(const store::Note& note, const RequestMark& mark);

// Checks, keeps the photos, appends. `options.job_dir` is not looked at. REQUIRES: `opened` was
// opened for writing. invalid_input for anything that is not in order, each one line; nothing is
// stored then. What the store gives.
// `mark` is not for a calibration.
[[nodiscard]] store::Result<NotedRow> record_note(OpenedJob& opened, const NoteOptions& options,
                                                  const std::optional<RequestMark>& mark = {});

}  // namespace logger::app
