// `dwellog alert-test`: one message of each kind to each recipient, marked as a test.
#pragma once

#include <filesystem>
#include <string>

#include "logger/app/commands/commands.hpp"

namespace logger::app {

struct AlertTestOptions {
  path job_dir;
  std::string recipient;  // id; empty = each
};
// Says for each recipient and kind whether it was taken over, and why not. Exit status 0 when all
// were, 4 when one was not, 1 for a job or a recipient that is not there. Stores nothing.
int alert_test(const AlertTestOptions& options, const Console& console);

}  // namespace logger::app
