// A numbered scenario for the real daemon: the site and its faults, what people and the harness do
// meanwhile, and what must hold afterwards. docs/scenarios.md is the language.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "analysis/base/result.hpp"
#include "firmware-sim/sim/scenario.hpp"

namespace scenarios {

enum class DaemonOrder { kill, stop, start, restart };

struct TimedOrder {
  analysis::base::Micros after_start{0};
  DaemonOrder order = DaemonOrder::kill;
};
struct TimedNote {
  analysis::base::Micros after_start{0};
  std::vector<std::string> words;
};
struct JobEdit {
  std::string pointer;
  std::string json;
};
struct Expectation {
  std::size_t script_line = 0;
  std::vector<std::string> words;  // without "expect"
};

struct ScenarioCase {
  std::string name;
  firmware::sim::Scenario scenario;
  std::vector<JobEdit> job_edits;
  std::vector<std::vector<std::string>> notes;  // before the start
  std::vector<TimedNote> timed_notes;
  std::map<std::string, std::string> environment;
  std::vector<TimedOrder> orders;
  std::vector<Expectation> expectations;
  std::string known_defect;  // empty = none
};

// The error is one line.
[[nodiscard]] analysis::base::Result<ScenarioCase, std::string> case_from_scenario(
    firmware::sim::Scenario scenario);

// The same site and boxes with nothing going wrong but what happens to the site itself.
[[nodiscard]] firmware::sim::Scenario undisturbed(const firmware::sim::Scenario& scenario);

// job.json for the boxes and transmitters of the case, from the text that `dwellog new` wrote.
// Throws std::runtime_error when an edit does not fit.
[[nodiscard]] std::string job_for_case(const ScenarioCase& scenario_case,
                                       const std::string& template_text, const std::string& port);

}  // namespace scenarios
