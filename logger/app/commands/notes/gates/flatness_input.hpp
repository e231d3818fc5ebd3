// Readings of flatness as a person hands them in: a CSV of heights, gaps typed for a line.
#pragma once

#include "analysis/readiness/site/flatness.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/store/error.hpp"

namespace logger::app {

// One row of heights in mm per line of text, separated by commas, semicolons, tabs or blanks; an
// empty cell or "-" was not measured. A comma is a decimal mark where semicolons separate. `name`:
// of the file, for the refusal, which names line and column.
[[nodiscard]] store::Result<analysis::readiness::HeightGrid> height_grid_from_csv(
    const std::string& text, const std::string& name);

// "0 cm=0 mm, 50 cm=2 mm": where along the line, and the gap below it there.
[[nodiscard]] store::Result<std::vector<analysis::readiness::ProfilePoint>> gap_line_from(
    const std::string& text);

// All that was given of --grid, --spacing, --line and --reading-mm. Reads the file.
[[nodiscard]] store::Result<analysis::readiness::FlatnessReadings> flatness_readings_from(
    const GateAnswerOptions& options);

}  // namespace logger::app
