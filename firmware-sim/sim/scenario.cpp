#include "firmware-sim/sim/scenario.hpp"

#include <array>

namespace firmware::sim {
namespace {

using analysis::base::micros_from_hours;
using analysis::base::UtcMicros;

constexpr UtcMicros kStart{1'772'434'800'000'000};  // 2026-03-02T07:00:00Z

ScenarioAction action_at(double hours, ActionKind kind) {
  ScenarioAction action;
  action.after_start = micros_from_hours(hours);
  action.kind = kind;
  return action;
}

// Six days in late winter. Invented throughout: room, slab mix, weather, times. The slab is tuned
// to pass a 24-h mean of 75 %RH at depth on the fifth day, which real slabs of this thickness
// seldom do so soon.
Scenario heater_failure() {
  Scenario scenario;
  scenario.name = "heater-failure";
  scenario.start = kStart;
  scenario.length = micros_from_hours(6 * 24.0);
  scenario.actions = {action_at(1.0, ActionKind::delivery), action_at(38.0, ActionKind::heater_off),
                      action_at(44.0, ActionKind::heater_on),
                      action_at(80.0, ActionKind::cable_unplug),
                      action_at(81.0, ActionKind::cable_replug)};
  return scenario;
}

// Three hours with everything that can happen to a cable and a box; for tests. Invented.
Scenario quick() {
  Scenario scenario;
  scenario.name = "quick";
  scenario.start = kStart;
  scenario.length = micros_from_hours(3.0);
  scenario.actions = {
      action_at(0.25, ActionKind::delivery), action_at(0.75, ActionKind::cable_unplug),
      action_at(1.25, ActionKind::cable_replug), action_at(2.0, ActionKind::box_reboot)};
  return scenario;
}

struct NamedScenario {
  const char* name;
  Scenario (*make)();
};
constexpr std::array<NamedScenario, 2> kScenarios{NamedScenario{"heater-failure", &heater_failure},
                                                  NamedScenario{"quick", &quick}};

}  // namespace

const std::vector<std::string>& scenario_names() {
  static const std::vector<std::string> names = [] {
    std::vector<std::string> result;
    for (const NamedScenario& scenario : kScenarios) {
      result.emplace_back(scenario.name);
    }
    return result;
  }();
  return names;
}

std::optional<Scenario> scenario_from_name(std::string_view name) {
  for (const NamedScenario& scenario : kScenarios) {
    if (name == scenario.name) {
      return scenario.make();
    }
  }
  return std::nullopt;
}

}  // namespace firmware::sim
