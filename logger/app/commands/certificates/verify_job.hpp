// Looks a whole job through for someone who holds a copy of its folder and,
// perhaps, checkpoints that were handed over earlier. Needs neither job.json
// nor a secret key; changes nothing.
#pragma once

#include "logger/app/commands/commands.hpp"
#include "logger/verify/verify_files.hpp"

namespace logger::app {

// `options.certificate` names the folder. Every row is compared with the
// evidence log, and the log with the checkpoints of options.since. Prints and
// ends as verify::verify_files; readings and log of a certificate are refused.
int verify_job(const verify::VerifyOptions& options, const Console& console);

}  // namespace logger::app
