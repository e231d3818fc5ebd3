// Readings of flatness as a person hands them in: a CSV of heights, gaps typed for a line.
#pragma once

#include "analysis/readiness/site/flatness.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/store/error.hpp"

namespace logger::app {

// All that was given of --grid, --heights, --spacing, --line and --reading-mm. Reads the file.
// invalid_input, one line: the option, or file and line, and what was expected.
[[nodiscard]] store::Result<analysis::readiness::FlatnessReadings> flatness_readings_from(
    const GateAnswerOptions& options);

}  // namespace logger::app
