// Tests of the slab that were noted, each in its own unit beside the floor's limit. Pure.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "analysis/readiness/requirements.hpp"
#include "analysis/readiness/verdict.hpp"

namespace logger::app {

// The wettest place decides. Never converted into the unit of another test.
struct TestResult {
  std::string kind;  // "rh-test", "dish-test", "carbide-test", as it was noted
  analysis::base::UtcMicros at;
  std::string unit;  // "percent_rh", "g_per_m2_day", "cm_percent"
  std::vector<double> values;
  std::optional<double> limit;  // nullopt = the job sets none
};

[[nodiscard]] std::vector<TestResult> test_results_from(
    const analysis::readiness::SubfloorTests& tests,
    const analysis::readiness::FloorRequirements& requirements);

// "Dish test of 2026-03-01 10:00 UTC: 5.5, 4.1 g/m² in 24 h; limit 3.0 g/m² in 24 h".
[[nodiscard]] std::string text_from_test(const TestResult& test, bool imperial);
// [{"test", "at_utc", "values_<unit>", "limit_<unit>" (or null)}]
[[nodiscard]] nlohmann::ordered_json json_from_tests(const std::vector<TestResult>& tests);

}  // namespace logger::app
