// The part of inspect that looks at the evidence log and its checkpoints.
#pragma once

#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/job_folder.hpp"

namespace logger::app {

// Prints how far the log is signed and stamped, looks all of it through, and prints what is wrong.
// kExitDone when it is sound, kExitNot when it is not, kExitCouldNotDo when it can't be read.
int inspect_evidence(const OpenedJob& opened, const Console& console);

}  // namespace logger::app
