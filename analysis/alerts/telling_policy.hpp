// Who is told what, and when, once a rule has made a transition: quiet hours, reminders until
// somebody acknowledged, escalation to a second person, a daily digest. Pure: time and the offset
// of local time are passed in.
#pragma once

#include <chrono>
#include <optional>

#include "analysis/base/time.hpp"

namespace analysis::alerts {

using base::Micros;
using base::UtcMicros;

// By local clocks, from included, to not; from > to goes over midnight.
struct QuietHours {
  std::chrono::minutes from{0};  // after local midnight
  std::chrono::minutes to{0};
  bool operator==(const QuietHours&) const = default;
};

struct TellingPolicy {
  // A firing alert that nobody acknowledged is told again: marked as a reminder.
  std::optional<Micros> remind_every;
  int most_reminders = 6;
  // A firing alert that nobody acknowledged goes to a second person after that time.
  std::optional<Micros> escalate_after;
  std::optional<std::chrono::minutes> digest_at;  // after local midnight, once a day
  bool operator==(const TellingPolicy&) const = default;
};

}  // namespace analysis::alerts
