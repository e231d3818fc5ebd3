// Each kind of expectation fails when it is wrong: one disturbed day is run once, and asked right
// and wrong questions.
#include "tests/scenarios/runner/expectation.hpp"

#include <catch2/catch.hpp>

#include "firmware-sim/sim/script/scenario_text.hpp"
#include "firmware-sim/sim/script/word_cursor.hpp"

using namespace scenarios;

namespace {

// A quarter of it is lost, the air sensor stops, the clock is stepped, a boot stays undated.
constexpr const char* kText = R"(
start 2026-03-02T07:00:00Z
length 14h
box 1 memory 16KiB
set outdoor_mean_celsius -5
from 0 to 30min unset host clock
at 10min reboot box 1
at 1h cartons arrive
from 2h to 5h every 4 corrupt reply of box 1
at 4h step host clock by +10min
from 4h30min to 10h unplug line 1
from 11h to 14h status no_answer at air-t of box 1
note delivery --by A.Sample --at 2026-03-02T08:00:30Z
expect exit 0
)";

CaseOutcome& outcome() {
  static CaseOutcome once = [] {
    auto scenario = firmware::sim::script::scenario_from_text(kText, "text");
    if (!scenario) {
      throw std::runtime_error(scenario.error());
    }
    auto scenario_case = case_from_scenario(std::move(scenario).value());
    if (!scenario_case) {
      throw std::runtime_error(scenario_case.error());
    }
    return CaseOutcome(scenario_case.value());
  }();
  return once;
}

std::string ask(const std::string& text) {
  firmware::sim::script::WordCursor words(text);
  return fault_of({1, words.rest()}, outcome());
}

}  // namespace

TEST_CASE("WhatHoldsIsSaidToHold") {
  for (const char* text : {"exit 0",
                           "gaps exact",
                           "gaps >= 50",
                           "event clock_step = 1",
                           "event link_down of box-1 = 1",
                           "alert probe_silent of box-1 fired = 1",
                           "alert probe_silent cleared = 1",
                           "phase probe_silent of box-1 inactive",
                           "verdict \"not ready\"",
                           "reason \"delivery\" of living-room",
                           "status \"SIMULATED SITE\"",
                           "log \"link_down\" = 1",
                           "undated >= 9",
                           "undated <= 11",
                           "quality no_answer of air-t >= 0.2",
                           "value of supply from 0 to 14h <= 4.2",
                           "crossings of supply over 0 = 0",
                           "age of core-t <= 5min",
                           "struck >= 20",
                           "truth of slab-rh within 1.5"}) {
    INFO(text);
    CHECK(ask(text) == "");
  }
}

TEST_CASE("WhatDoesNotHoldIsFound") {
  for (const char* text : {"exit 4",
                           "records complete",
                           "gaps = 0",
                           "gaps <= 5",
                           "event clock_step = 0",
                           "event link_down of box-2 = 1",
                           "alert probe_silent of box-1 fired = 2",
                           "alert out_of_band of box-1 fired >= 1",
                           "phase probe_silent of box-1 firing",
                           "verdict \"ready\"",
                           "reason \"no such words\"",
                           "status \"no such words\"",
                           "log \"link_down\" = 7",
                           "dwell >= 14",
                           "dates >= 100000",
                           "dates <= 0",
                           "undated = 0",
                           "quality good of air-t >= 0.99",
                           "quality frozen of core-t >= 0.1",
                           "value of supply from 0 to 14h <= 4",
                           "value of air-t from 13h to 14h >= 0",
                           "crossings of supply over 0 >= 1",
                           "age of core-t >= 1h",
                           "struck <= 3"}) {
    INFO(text);
    CHECK(ask(text).starts_with("found "));
  }
}

TEST_CASE("WordsThatAreNoExpectationAreRefused") {
  CHECK(ask("recods complete").find("nearest is records") != std::string::npos);
  CHECK(ask("gaps about 7").find("'about': expected =, <= or >=") != std::string::npos);
  CHECK(ask("exit 0 please") == "'please': expected the end of the line");
  CHECK(ask("value of no-such from 0 to 1h = 1") == "no channel no-such");
}

// What that day gets right goes wrong where the clock of the machine is wrong for good.
TEST_CASE("ADateBeyondItsErrorAndOtherHoursAreFound") {
  auto scenario = firmware::sim::script::scenario_from_text(
      "start 2026-03-02T07:00:00Z\nlength 6h\nbox 1\nat 1h cartons arrive\n"
      // The clock stays wrong, so that every date is, and nobody can know it.
      "at 0 step host clock by +2h\n"
      "note delivery --by A.Sample --at 2026-03-02T10:00:30Z\nexpect exit 0\n",
      "text");
  REQUIRE(scenario);
  auto scenario_case = case_from_scenario(std::move(scenario).value());
  REQUIRE(scenario_case);
  CaseOutcome wrong(scenario_case.value());
  CHECK(fault_of({1, {"records", "complete"}}, wrong) == "");
  CHECK(fault_of({1, {"gaps", "exact"}}, wrong) == "found nothing is lost");
  CHECK(fault_of({1, {"dates", "within", "error"}}, wrong).starts_with("found "));
  CHECK(fault_of({1, {"dwell", "as", "recorded"}}, wrong).starts_with("found "));
  CHECK(fault_of({1, {"dwell", "as", "undisturbed"}}, wrong).starts_with("found "));
}
