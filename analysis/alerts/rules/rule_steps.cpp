#include "analysis/alerts/rules/rule_steps.hpp"

#include <algorithm>

namespace analysis::alerts {

RuleState& RuleSteps::state(RuleKind kind) {
  const auto found = std::find_if(alerts_.begin(), alerts_.end(), [&](const Alert& alert) {
    return alert.kind == kind && alert.subject == subject_;
  });
  return found != alerts_.end() ? found->state
                                : alerts_.emplace_back(Alert{kind, subject_, {}, {}}).state;
}

Transition RuleSteps::step(RuleKind kind, const RuleTiming& timing, const RuleInput& input) {
  RuleState& rule = state(kind);
  if (settings_.off.contains(kind)) {
    rule = {Phase::inactive,  rule.since,        Micros{0}, false, now_,
            rule.fired_count, rule.cleared_count};
    return Transition::none;
  }
  return step_rule(rule, timing, input, now_);
}

void RuleSteps::break_off(RuleKind kind) { step_rule(state(kind), {}, {}, now_); }

void RuleSteps::tell(RuleKind kind, Transition transition, std::string text,
                     std::vector<AlertValue> values) {
  messages_.push_back({kind, subject_, transition, now_, std::move(text), std::move(values)});
}

std::vector<AlertMessage> RuleSteps::take_messages() {
  std::stable_sort(messages_.begin(), messages_.end(),
                   [](const auto& a, const auto& b) { return a.kind < b.kind; });
  return std::move(messages_);
}

}  // namespace analysis::alerts
