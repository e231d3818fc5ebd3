// Who is told what, and when, once a rule has made a transition: quiet hours, reminders until
// somebody acknowledged, escalation to a second person, a daily digest. Pure: time and the offset
// of local time are passed in.
#pragma once

#include <chrono>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/alerts/alert_rules.hpp"
#include "analysis/alerts/quiet_hours.hpp"

namespace analysis::alerts {

struct TellingPolicy {
  // A firing alert that nobody acknowledged is told again: marked as a reminder.
  std::optional<Micros> remind_every;
  int most_reminders = 6;
  // A firing alert that nobody acknowledged goes to a second person after that time.
  std::optional<Micros> escalate_after;
  std::optional<std::chrono::minutes> digest_at;  // after local midnight, once a day
  bool operator==(const TellingPolicy&) const = default;
};

struct TellingRecipient {
  std::string id;
  std::optional<QuietHours> quiet_hours;
};

struct TellingRules {
  TellingPolicy policy;
  // All are told of every transition, but for the one of `escalate_to`, who hears of what nobody
  // acknowledged and of its end.
  std::vector<TellingRecipient> recipients;
  std::string escalate_to;    // recipient id; empty = nobody
  std::set<RuleKind> urgent;  // not held by quiet hours
};

// Somebody has seen it: no more reminders, no escalation, for that fire alone.
struct Acknowledgement {
  std::string alert_key;
  UtcMicros fired_at;
};

enum class TellingKind : std::uint8_t { fired = 1, cleared = 2, reminder = 3, escalation = 4 };
[[nodiscard]] std::string_view name_of(TellingKind kind);  // "fired" ...

struct PlannedTelling {
  std::string recipient;
  TellingKind kind = TellingKind::fired;
  RuleKind rule = RuleKind::out_of_band;
  std::string subject;
  UtcMicros at;      // of the transition; of the fire for reminder and escalation
  int number = 0;    // of a reminder, from 1
  UtcMicros due_at;  // after quiet hours where they hold it
  bool held = false;
  std::string text;
  bool operator==(const PlannedTelling&) const = default;
};

// What is to be told because of `messages` (the transitions of this round, of which `alerts` are
// the states after it) and of the time that went by. Marks in the alerts what is planned, so that a
// second call with the same time plans nothing. A clear is told to whoever was told the fire. A
// reminder skips who has quiet hours, and waits when all have; urgent rules are never held.
// Escalation counts from when the first recipient was to be told.
[[nodiscard]] std::vector<PlannedTelling> plan_tellings(
    std::vector<Alert>& alerts, const std::vector<AlertMessage>& messages,
    const TellingRules& rules, const std::vector<Acknowledgement>& acknowledged,
    const LocalClock& clock, UtcMicros now);

struct DigestsSoFar {
  std::optional<UtcMicros> newest;  // the moment it was made for
  UtcMicros log_begins;             // nothing is told of the time before
};
// The moment of the daily digest that is due at `now`: the newest one that has passed, when it lies
// most of a day after the digest before it.
[[nodiscard]] std::optional<UtcMicros> digest_due_at(const TellingPolicy& policy,
                                                     const DigestsSoFar& so_far,
                                                     const LocalClock& clock, UtcMicros now);

// When plan_tellings or a digest may next have something to say without a new message; nullopt =
// not before a message comes.
[[nodiscard]] std::optional<UtcMicros> next_telling_at(
    const std::vector<Alert>& alerts, const TellingRules& rules,
    const std::vector<Acknowledgement>& acknowledged);

}  // namespace analysis::alerts
