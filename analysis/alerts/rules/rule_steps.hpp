// Steps the rules of one subject at one moment and gathers what they tell.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "analysis/alerts/alert_settings.hpp"

namespace analysis::alerts {

class RuleSteps {
 public:
  // `alerts` and `settings` outlive the object.
  RuleSteps(std::vector<Alert>& alerts, const AlertSettings& settings, std::string subject,
            UtcMicros now)
      : alerts_(alerts), settings_(settings), subject_(std::move(subject)), now_(now) {}

  // The state of that rule, made when it is missing. A reference ends with the next call.
  RuleState& state(RuleKind kind);
  // A rule that is switched off falls back to inactive, and nothing is told of it.
  Transition step(RuleKind kind, const RuleTiming& timing, const RuleInput& input);
  // Time since the last step in which nothing is known does not count as held.
  void break_off(RuleKind kind);

  void tell(RuleKind kind, Transition transition, std::string text,
            std::vector<AlertValue> values = {});
  // `text_of` makes the text of a transition; it is called when there is one.
  template <class TextOf>
  void step_and_tell(RuleKind kind, const RuleTiming& timing, const RuleInput& input,
                     TextOf text_of, std::vector<AlertValue> values = {}) {
    const Transition transition = step(kind, timing, input);
    if (transition != Transition::none) {
      tell(kind, transition, text_of(transition), std::move(values));
    }
  }
  // In the order of RuleKind.
  [[nodiscard]] std::vector<AlertMessage> take_messages();

 private:
  std::vector<Alert>& alerts_;
  const AlertSettings& settings_;
  std::string subject_;
  UtcMicros now_;
  std::vector<AlertMessage> messages_;
};

}  // namespace analysis::alerts
