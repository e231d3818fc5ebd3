// Reads a scenario from its text; docs/scenarios.md is the language. No I/O.
#pragma once

#include <string>
#include <string_view>

#include "analysis/base/result.hpp"
#include "firmware-sim/sim/scenario.hpp"

namespace firmware::sim::script {

// `name` stands in front of the line number in the error, which is one line: what was found and
// what was expected.
[[nodiscard]] analysis::base::Result<Scenario, std::string> scenario_from_text(
    std::string_view text, const std::string& name);

}  // namespace firmware::sim::script
