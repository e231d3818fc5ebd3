// Whether what a job wants to send out could go at all.
#pragma once

#include <string>
#include <vector>

#include "logger/app/commands/job_folder.hpp"

namespace logger::app {

// Why something could not go, or not at the right time: one line each, for `check` and for the
// start of `run`. Asks no server.
[[nodiscard]] std::vector<std::string> delivery_faults(const OpenedJob& opened);

}  // namespace logger::app
