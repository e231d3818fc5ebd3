#include <iterator>

#include "analysis/alerts/alert_rules.hpp"

namespace analysis::alerts {
namespace {

constexpr std::string_view kPhaseNames[] = {"inactive", "pending", "firing"};
constexpr std::string_view kTransitionNames[] = {"none", "fired", "cleared"};
constexpr std::string_view kRuleNames[] = {
    "out_of_band",          "dwell_reset",       "probe_silent",     "ready",
    "no_longer_ready",      "sensor_fault",      "lid_open",         "tilted",
    "supply_low",           "self_test_failed",  "out_of_band_soon", "dwell_done",
    "stack_lagging",        "condensation_risk", "slab_rising",      "slab_done",
    "calibration_expiring", "disk_low",          "clock_unsure",     "service_climate"};

// `first`: the value of the enumerator that the first name belongs to.
template <class E, std::size_t N>
std::string_view name_from(const std::string_view (&names)[N], E value, std::size_t first) {
  const std::size_t index = static_cast<std::size_t>(value) - first;
  return index < N ? names[index] : "unknown";
}

template <class E, std::size_t N>
std::optional<E> value_from(const std::string_view (&names)[N], std::string_view name,
                            std::size_t first) {
  for (std::size_t index = 0; index < N; ++index) {
    if (names[index] == name) {
      return static_cast<E>(index + first);
    }
  }
  return std::nullopt;
}

}  // namespace

std::string_view name_of(Phase phase) { return name_from(kPhaseNames, phase, 1); }
std::optional<Phase> phase_from_name(std::string_view name) {
  return value_from<Phase>(kPhaseNames, name, 1);
}
std::string_view name_of(Transition transition) {
  return name_from(kTransitionNames, transition, 0);
}
std::string_view name_of(RuleKind kind) { return name_from(kRuleNames, kind, 1); }
std::optional<RuleKind> rule_from_name(std::string_view name) {
  return value_from<RuleKind>(kRuleNames, name, 1);
}

bool calls_for_action(RuleKind kind) {
  return kind != RuleKind::ready && kind != RuleKind::dwell_done && kind != RuleKind::slab_done;
}

std::string key_of(const Alert& alert) {
  return std::string(name_of(alert.kind)) + "/" + alert.subject;
}

std::optional<Alert> alert_from_key(std::string_view key) {
  const std::size_t slash = key.find('/');
  if (slash == std::string_view::npos || slash + 1 == key.size()) {
    return std::nullopt;
  }
  const std::optional<RuleKind> kind = rule_from_name(key.substr(0, slash));
  if (!kind) {
    return std::nullopt;
  }
  return Alert{*kind, std::string(key.substr(slash + 1)), {}, {}};
}

}  // namespace analysis::alerts
