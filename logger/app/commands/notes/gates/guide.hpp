// Asks a person for the open gates, one question at a time, and notes each answer at once.
#pragma once

#include <iosfwd>

#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/job_folder.hpp"

namespace logger::app {

// Of `options`: room (empty = every one), by, at. Reads answers as lines from `answers`, a terminal
// or not; its end ends the guide and what was noted stays. `echoes` (dialogue.hpp) where it is no
// terminal. Prints what is still to note. Exit status. REQUIRES: `opened` was opened for writing.
int guide_through_gates(OpenedJob& opened, const NoteOptions& options, std::istream& answers,
                        bool echoes, const Console& console);

}  // namespace logger::app
