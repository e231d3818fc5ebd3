#include "tests/scenarios/runner/scenario_case.hpp"

#include <array>
#include <utility>

#include "firmware-sim/sim/script/word_cursor.hpp"

namespace scenarios {

using analysis::base::Failure;
using analysis::base::Result;
using firmware::sim::ActionKind;
using firmware::sim::HarnessStatement;
using firmware::sim::Scenario;
using firmware::sim::script::WordCursor;

namespace {

constexpr std::array<std::string_view, 4> kOrderWords{"kill", "stop", "start", "restart"};

void read_job(WordCursor& words, ScenarioCase& into) {
  JobEdit edit;
  edit.pointer = words.word("a JSON pointer");
  for (const std::string& part : words.rest()) {
    edit.json += (edit.json.empty() ? "" : " ") + part;
  }
  into.job_edits.push_back(std::move(edit));
}

void read_environment(WordCursor& words, ScenarioCase& into) {
  const std::string name = words.word("a name");
  into.environment[name] = words.word("a value");
  words.expect_end();
}

void read_statement(const HarnessStatement& statement, ScenarioCase& into, WordCursor& words) {
  if (words.take_if("expect")) {
    into.expectations.push_back({statement.script_line, words.rest()});
  } else if (words.take_if("job")) {
    read_job(words, into);
  } else if (words.take_if("environment")) {
    read_environment(words, into);
  } else if (words.take_if("known-defect")) {
    into.known_defect = words.word("what is wrong");
    words.expect_end();
  } else if (words.take_if("note") && statement.after_start) {
    into.timed_notes.push_back({*statement.after_start, words.rest()});
  } else if (statement.words.front() == "note") {
    into.notes.push_back(words.rest());
  } else {
    words.expect("daemon");
    const auto order = static_cast<DaemonOrder>(words.one_of(kOrderWords));
    into.orders.push_back({statement.after_start.value_or(analysis::base::Micros{0}), order});
    words.expect_end();
  }
}

}  // namespace

Result<ScenarioCase, std::string> case_from_scenario(Scenario scenario) {
  ScenarioCase result;
  result.name = scenario.name;
  for (const HarnessStatement& statement : scenario.harness) {
    WordCursor words(statement.words);
    read_statement(statement, result, words);
    if (!words.ok()) {
      return Failure{scenario.name + ":" + std::to_string(statement.script_line) + ": " +
                     words.fault()};
    }
  }
  if (result.expectations.empty()) {
    return Failure{scenario.name + ": it expects nothing"};
  }
  result.scenario = std::move(scenario);
  return result;
}

Scenario undisturbed(const Scenario& scenario) {
  Scenario twin = scenario;
  twin.exchange_faults.clear();
  twin.harness.clear();
  std::erase_if(twin.actions,
                [](const auto& action) { return action.kind > ActionKind::delivery_at; });
  return twin;
}

}  // namespace scenarios
