// The content of notes that hold measured values: cartons' temperature, pins in wood, fixed points.
// Pure; every refusal is one line that names the option, the value and what was expected.
#pragma once

#include <nlohmann/json_fwd.hpp>

#include "analysis/readiness/uncertainty/two_point_calibration.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/store/error.hpp"

namespace logger::app {

[[nodiscard]] store::Result<nlohmann::json> delivery_content_from(const NoteOptions& options);
[[nodiscard]] store::Result<nlohmann::json> wood_test_content_from(const NoteOptions& options);

// Of the two --fixed-point options.
[[nodiscard]] store::Result<analysis::readiness::TwoPointCalibration> fixed_point_calibration_from(
    const NoteOptions& options);

}  // namespace logger::app
