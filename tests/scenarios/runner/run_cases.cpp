// scenario_cases FILE...: runs each scenario with the real daemon and checks what it expects. Exit
// status 0: all held. A case that is marked as a known defect must fail.
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <exception>
#include <iostream>
#include <string>
#include <vector>

#include "tests/scenarios/runner/case_outcome.hpp"
#include "tests/scenarios/runner/expectation.hpp"

namespace {

using scenarios::CaseOutcome;
using scenarios::Expectation;
using scenarios::ScenarioCase;

std::string joined(const std::vector<std::string>& words) {
  std::string text;
  for (const std::string& word : words) {
    text += " " + word;
  }
  return text;
}

std::vector<std::string> faults_of(const ScenarioCase& scenario_case, std::string& log) {
  std::vector<std::string> faults;
  try {
    CaseOutcome outcome(scenario_case);
    for (const Expectation& expectation : scenario_case.expectations) {
      const std::string fault = scenarios::fault_of(expectation, outcome);
      if (!fault.empty()) {
        faults.push_back(scenario_case.name + ":" + std::to_string(expectation.script_line) +
                         ": expect" + joined(expectation.words) + ": " + fault);
      }
    }
    log = outcome.daemon_log();
  } catch (const std::exception& error) {
    faults.push_back(scenario_case.name + ": " + error.what());
  }
  return faults;
}

bool run_case(const std::string& path) {
  auto scenario = firmware::sim::scenario_from_name_or_file(path);
  if (!scenario) {
    std::cout << scenario.error() << '\n';
    return false;
  }
  const auto scenario_case = scenarios::case_from_scenario(std::move(scenario).value());
  if (!scenario_case) {
    std::cout << scenario_case.error() << '\n';
    return false;
  }
  std::string log;
  const auto begin = std::chrono::steady_clock::now();
  const auto faults = faults_of(scenario_case.value(), log);
  const std::chrono::duration<double> took = std::chrono::steady_clock::now() - begin;
  for (const std::string& fault : faults) {
    std::cout << fault << '\n';
  }
  const bool defect = !scenario_case.value().known_defect.empty();
  if (!faults.empty() && !defect) {
    constexpr std::size_t kMostLog = 4000;
    std::cout << "the daemon's output ends with:\n"
              << log.substr(log.size() - std::min(log.size(), kMostLog));
  }
  if (faults.empty() && defect) {
    std::cout << path << ": it passes, so the known defect is mended: "
              << scenario_case.value().known_defect << '\n';
  }
  std::printf("%s %.1f s %s\n", faults.empty() == !defect ? "as expected" : "FAILED", took.count(),
              path.c_str());
  return faults.empty() == !defect;
}

}  // namespace

int main(int argc, char** argv) {
  const std::vector<std::string> paths(argv + 1, argv + argc);
  bool all = !paths.empty();
  for (const std::string& path : paths) {
    all = run_case(path) && all;
  }
  return all ? 0 : 1;
}
