// What a stack tracker keeps, as JSON in the stored account. Doubles round-trip exactly.
#pragma once

#include <nlohmann/json_fwd.hpp>

#include "analysis/readiness/stack/stack_tracker.hpp"

namespace logger::app {

[[nodiscard]] nlohmann::json json_from_stack_state(
    const analysis::readiness::StackTrackerState& state);
// Throws nlohmann::json::exception on anything that json_from_stack_state did not write; the caller
// then believes none of the account.
[[nodiscard]] analysis::readiness::StackTrackerState stack_state_from_json(
    const nlohmann::json& tree);

}  // namespace logger::app
