#include "logger/app/status/test_results.hpp"

#include <nlohmann/json.hpp>

#include "analysis/readiness/reason_texts.hpp"
#include "logger/app/text/json_time.hpp"

namespace logger::app {

using analysis::readiness::SubfloorTests;
using analysis::readiness::text_from_number;
using nlohmann::ordered_json;

namespace readiness = analysis::readiness;

namespace {

constexpr std::string_view kEmission = "g_per_m2_day";
constexpr std::string_view kCarbide = "cm_percent";

TestResult rh_result(const readiness::RhTestNote& note,
                     const std::optional<readiness::SlabRequirements>& slab) {
  TestResult result{"rh-test", note.at, "percent_rh", {}, std::nullopt};
  for (const auto& place : note.test.places) {
    result.values.push_back(percent_from_rh(place.rh));
  }
  if (slab) {
    result.limit = percent_from_rh(slab->rh_high.value);
  }
  return result;
}

TestResult dish_result(const readiness::DishTestNote& note,
                       const std::optional<readiness::SlabRequirements>& slab) {
  TestResult result{"dish-test", note.at, std::string(kEmission), {}, std::nullopt};
  for (const auto& dish : note.survey.dishes) {
    if (const auto rate = emission_rate_from(dish)) {
      result.values.push_back(grams_per_square_metre_day_from(rate.value()));
    }
  }
  if (slab && slab->emission_high) {
    result.limit = grams_per_square_metre_day_from(slab->emission_high->value);
  }
  return result;
}

TestResult carbide_result(const readiness::CarbideTestNote& note,
                          const std::optional<readiness::SlabRequirements>& slab) {
  TestResult result{"carbide-test", note.at, std::string(kCarbide), {}, std::nullopt};
  for (const auto sample : note.survey.samples) {
    result.values.push_back(percent_from_carbide(sample));
  }
  if (slab && slab->carbide_high) {
    result.limit = percent_from_carbide(slab->carbide_high->value);
  }
  return result;
}

std::string value_text_of(double value, const TestResult& test, bool imperial) {
  if (test.unit == kEmission && imperial) {
    const auto rate = readiness::EmissionRate{value / 1000.0};
    return text_from_number(pounds_per_1000_square_feet_day_from(rate));
  }
  return text_from_number(value, test.unit == kCarbide ? 2 : 1);
}

std::string unit_text_of(const TestResult& test, bool imperial) {
  if (test.unit == kEmission) {
    return imperial ? " lb/1000 ft² in 24 h" : " g/m² in 24 h";
  }
  return test.unit == kCarbide ? " CM-%" : " %RH";
}

}  // namespace

std::vector<TestResult> test_results_from(const SubfloorTests& tests,
                                          const readiness::FloorRequirements& requirements) {
  std::vector<TestResult> results;
  if (tests.rh) {
    results.push_back(rh_result(*tests.rh, requirements.slab));
  }
  if (tests.dish) {
    results.push_back(dish_result(*tests.dish, requirements.slab));
  }
  if (tests.carbide) {
    results.push_back(carbide_result(*tests.carbide, requirements.slab));
  }
  return results;
}

std::string text_from_test(const TestResult& test, bool imperial) {
  std::string values;
  for (const double value : test.values) {
    values += (values.empty() ? "" : ", ") + value_text_of(value, test, imperial);
  }
  const std::string unit = unit_text_of(test, imperial);
  const std::string name = test.unit == kEmission  ? "Dish test"
                           : test.unit == kCarbide ? "Carbide test"
                                                   : "Probe test";
  return name + " of " + analysis::base::minute_text_from_utc(test.at) + ": " + values + unit +
         (test.limit ? "; limit " + value_text_of(*test.limit, test, imperial) + unit
                     : std::string("; job.json sets no limit for it"));
}

ordered_json json_from_tests(const std::vector<TestResult>& tests) {
  ordered_json list = ordered_json::array();
  for (const TestResult& test : tests) {
    list.push_back(
        {{"test", test.kind},
         {"at_utc", time_json(test.at)},
         {"values_" + test.unit, test.values},
         {"limit_" + test.unit, test.limit ? ordered_json(*test.limit) : ordered_json(nullptr)}});
  }
  return list;
}

}  // namespace logger::app
