// Alerts as JSON: the message for the outside world, and the state as it lies in the store. Pure.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "analysis/alerts/alert_rules.hpp"
#include "logger/store/error.hpp"

namespace logger::notify {

inline constexpr const char* kLaidVerdict = "laid";  // the floor lies: there is nothing to decide

// What a message names beside itself. Empty texts are left out.
struct AlertContext {
  std::string job_name;
  bool simulated = false;
  std::string room_name;  // of the room it is about
  std::string verdict;    // of that room now: "ready", "not ready", "cannot tell", kLaidVerdict
  std::string kind = "transition";  // or "reminder", "escalation"
  int number = 0;                   // of a reminder, from 1
  // Of reminder and escalation, whose message is dated with their own time.
  std::optional<analysis::alerts::UtcMicros> fired_at = std::nullopt;
};

// One line, keys sorted: "at_utc" (RFC 3339), "format" ("dwellog-alert/1"), "job", "kind", "rule",
// "simulated" (true for a simulated site, whose text then begins with SIMULATED SITE), "subject",
// "text", "transition" ("fired", "cleared"), "values" (an object; units in its key names); where
// there is one "fired_at_utc", "number", "room", "verdict".
[[nodiscard]] std::string json_from_alert(const analysis::alerts::AlertMessage& message,
                                          const AlertContext& context);

// For AlertState::state_json of the store: state and telling of an alert. The inverse fills those
// of `alert`, and refuses anything else with corrupt; a state of before there was a telling is
// read.
[[nodiscard]] std::string json_from_alert_state(const analysis::alerts::Alert& alert);
[[nodiscard]] store::Result<void> read_alert_state(std::string_view json,
                                                   analysis::alerts::Alert& alert);

}  // namespace logger::notify
