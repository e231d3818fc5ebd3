#include "analysis/alerts/telling_policy.hpp"

#include <algorithm>

namespace analysis::alerts {
namespace {

constexpr std::string_view kKindNames[] = {"fired", "cleared", "reminder", "escalation"};

// Two digests are at least this far apart, whatever local clocks do.
constexpr Micros kLeastBetweenDigests = std::chrono::hours(20);

bool acknowledged_in(const std::vector<Acknowledgement>& acknowledged, const Alert& alert) {
  const std::string key = key_of(alert);
  return std::any_of(acknowledged.begin(), acknowledged.end(), [&](const Acknowledgement& one) {
    return one.alert_key == key && one.fired_at == alert.telling.fired_at;
  });
}

// Somebody could still be reminded or woken up about it.
bool open_alert(const Alert& alert, const std::vector<Acknowledgement>& acknowledged) {
  return alert.state.phase == Phase::firing && alert.telling.fired_at && alert.telling.told_at &&
         calls_for_action(alert.kind) && !acknowledged_in(acknowledged, alert);
}

class Planner {
 public:
  Planner(const TellingRules& rules, const LocalClock& clock, UtcMicros now)
      : rules_(rules), clock_(clock), now_(now) {}

  void tell_fire(Alert& alert, const AlertMessage& message) {
    alert.telling = {};
    alert.telling.fired_at = message.at;
    alert.telling.text = message.text;
    for (const TellingRecipient& recipient : rules_.recipients) {
      if (recipient.id == rules_.escalate_to) {
        continue;
      }
      const UtcMicros due = add(recipient, TellingKind::fired, alert, message.at, message.text);
      alert.telling.told.push_back(recipient.id);
      alert.telling.told_at = std::min(alert.telling.told_at.value_or(due), due);
    }
    alert.telling.told_at = alert.telling.told_at.value_or(now_);
    alert.telling.last_told_at = alert.telling.told_at;
  }

  void tell_clear(Alert& alert, const AlertMessage& message) {
    // Of a fire from before there was a telling nobody knows who was told.
    const bool anybody = !alert.telling.fired_at.has_value();
    for (const TellingRecipient& recipient : rules_.recipients) {
      const auto& told = alert.telling.told;
      if (anybody ? recipient.id != rules_.escalate_to
                  : std::find(told.begin(), told.end(), recipient.id) != told.end()) {
        add(recipient, TellingKind::cleared, alert, message.at, message.text);
      }
    }
    alert.telling = {};
  }

  void remind(Alert& alert) {
    Telling& telling = alert.telling;
    const auto& every = rules_.policy.remind_every;
    if (!every || telling.reminders >= rules_.policy.most_reminders ||
        now_ < *telling.last_told_at + *every) {
      return;
    }
    const int number = telling.reminders + 1;
    bool reached = false;
    for (const std::string& id : telling.told) {
      const TellingRecipient* recipient = find(id);
      if (recipient != nullptr && !holds(*recipient, alert.kind)) {
        add(*recipient, TellingKind::reminder, alert, *telling.fired_at, telling.text, number);
        reached = true;
      }
    }
    if (reached) {
      telling.reminders = number;
      telling.last_told_at = now_;
    }
  }

  void escalate(Alert& alert) {
    Telling& telling = alert.telling;
    const auto& after = rules_.policy.escalate_after;
    const TellingRecipient* second = find(rules_.escalate_to);
    if (!after || second == nullptr || telling.escalated || now_ < *telling.told_at + *after) {
      return;
    }
    add(*second, TellingKind::escalation, alert, *telling.fired_at, telling.text);
    telling.escalated = true;
    telling.told.push_back(second->id);
  }

  [[nodiscard]] std::vector<PlannedTelling> take() { return std::move(planned_); }

 private:
  [[nodiscard]] const TellingRecipient* find(const std::string& id) const {
    const auto found =
        std::find_if(rules_.recipients.begin(), rules_.recipients.end(),
                     [&](const TellingRecipient& recipient) { return recipient.id == id; });
    return found == rules_.recipients.end() ? nullptr : &*found;
  }
  [[nodiscard]] bool holds(const TellingRecipient& recipient, RuleKind rule) const {
    return recipient.quiet_hours && !rules_.urgent.contains(rule) &&
           is_quiet(*recipient.quiet_hours, clock_, now_);
  }
  // Gives when it is due.
  UtcMicros add(const TellingRecipient& recipient, TellingKind kind, const Alert& alert,
                UtcMicros at, const std::string& text, int number = 0) {
    const bool held = holds(recipient, alert.kind);
    const UtcMicros due = held ? quiet_until(*recipient.quiet_hours, clock_, now_) : now_;
    planned_.push_back(
        {recipient.id, kind, alert.kind, alert.subject, at, number, due, held, text});
    return due;
  }

  const TellingRules& rules_;
  const LocalClock& clock_;
  UtcMicros now_;
  std::vector<PlannedTelling> planned_;
};

}  // namespace

std::string_view name_of(TellingKind kind) {
  return kKindNames[static_cast<std::size_t>(kind) - 1];
}

std::vector<PlannedTelling> plan_tellings(std::vector<Alert>& alerts,
                                          const std::vector<AlertMessage>& messages,
                                          const TellingRules& rules,
                                          const std::vector<Acknowledgement>& acknowledged,
                                          const LocalClock& clock, UtcMicros now) {
  Planner planner(rules, clock, now);
  for (const AlertMessage& message : messages) {
    const auto alert = std::find_if(alerts.begin(), alerts.end(), [&](const Alert& one) {
      return one.kind == message.kind && one.subject == message.subject;
    });
    if (alert == alerts.end()) {
      continue;
    }
    if (message.transition == Transition::fired) {
      planner.tell_fire(*alert, message);
    } else {
      planner.tell_clear(*alert, message);
    }
  }
  for (Alert& alert : alerts) {
    if (alert.state.phase != Phase::firing) {
      alert.telling = {};  // one that ended without a message of its own
    } else if (open_alert(alert, acknowledged)) {
      planner.remind(alert);
      planner.escalate(alert);
    }
  }
  return planner.take();
}

std::optional<UtcMicros> digest_due_at(const TellingPolicy& policy, const DigestsSoFar& so_far,
                                       const LocalClock& clock, UtcMicros now) {
  if (!policy.digest_at) {
    return std::nullopt;
  }
  const UtcMicros moment = newest_time_of_day(*policy.digest_at, clock, now);
  const bool due =
      so_far.newest ? moment - *so_far.newest >= kLeastBetweenDigests : moment > so_far.log_begins;
  return due ? std::optional(moment) : std::nullopt;
}

std::optional<UtcMicros> next_telling_at(const std::vector<Alert>& alerts,
                                         const TellingRules& rules,
                                         const std::vector<Acknowledgement>& acknowledged) {
  std::optional<UtcMicros> next;
  const auto consider = [&](UtcMicros at) { next = std::min(next.value_or(at), at); };
  for (const Alert& alert : alerts) {
    if (!open_alert(alert, acknowledged)) {
      continue;
    }
    const Telling& telling = alert.telling;
    if (rules.policy.remind_every && telling.reminders < rules.policy.most_reminders) {
      consider(*telling.last_told_at + *rules.policy.remind_every);
    }
    if (rules.policy.escalate_after && !telling.escalated && !rules.escalate_to.empty()) {
      consider(*telling.told_at + *rules.policy.escalate_after);
    }
  }
  return next;
}

}  // namespace analysis::alerts
