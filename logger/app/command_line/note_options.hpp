// The options of `dwellog note`, as the command line takes them.
#pragma once

#include "logger/app/commands/commands.hpp"

namespace CLI {
class App;
}  // namespace CLI

namespace logger::app {

// `note` is filled when the command line is parsed, and outlives `sub`.
void add_note_options(CLI::App& sub, NoteOptions& note);

}  // namespace logger::app
