// Whether one `expect` line of a case holds. docs/scenarios.md lists them.
#pragma once

#include <string>

#include "tests/scenarios/runner/case_outcome.hpp"

namespace scenarios {

// Empty = it holds; else one line with what was found, or what is wrong with the line itself.
[[nodiscard]] std::string fault_of(const Expectation& expectation, CaseOutcome& outcome);

}  // namespace scenarios
