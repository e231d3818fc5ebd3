// Alerts as JSON: the message for the outside world, and the state as it lies in the store. Pure.
#pragma once

#include <string>
#include <string_view>

#include "analysis/alerts/alert_rules.hpp"
#include "logger/store/error.hpp"

namespace logger::notify {

// One line, keys sorted: "at_utc" (RFC 3339), "format" ("dwellog-alert/1"), "job", "rule",
// "simulated" (true for a simulated site, whose text then begins with SIMULATED SITE), "subject",
// "text", "transition" ("fired", "cleared"), "values" (an object; units in its key names).
[[nodiscard]] std::string json_from_alert(const analysis::alerts::AlertMessage& message,
                                          const std::string& job_name, bool simulated);

// For AlertState::state_json of the store; the inverse refuses anything else with corrupt.
[[nodiscard]] std::string json_from_rule_state(const analysis::alerts::RuleState& state);
[[nodiscard]] store::Result<analysis::alerts::RuleState> rule_state_from_json(
    std::string_view json);

}  // namespace logger::notify
