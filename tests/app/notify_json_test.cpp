// Messages and states as JSON.
#include <catch2/catch.hpp>

#include "logger/notify/alert_json.hpp"

using namespace analysis::alerts;
using logger::notify::json_from_alert;
using logger::notify::json_from_rule_state;
using logger::notify::rule_state_from_json;

namespace {

const AlertMessage kMessage{
    RuleKind::out_of_band,  "living-room",
    Transition::fired,      UtcMicros{1'772'352'000'000'000},
    "living-room: 16.2 °C", {{"air_temperature_celsius", 16.25}, {"air_percent_rh", 38.5}}};

RuleState some_state() {
  RuleState state;
  state.phase = Phase::firing;
  state.since = UtcMicros{1'772'352'000'000'001};
  state.held = Micros{61'000'000};
  state.holding = true;
  state.stepped_at = UtcMicros{1'772'352'061'000'001};
  state.fired_count = 3;
  state.cleared_count = 2;
  return state;
}

}  // namespace

TEST_CASE("A message says what, where, when, in which job, with units in its keys") {
  CHECK(json_from_alert(kMessage, "Mill \"Lane\" 4", false) ==
        R"({"at_utc":"2026-03-01T08:00:00Z","format":"dwellog-alert/1","job":"Mill \"Lane\" 4",)"
        R"("rule":"out_of_band","simulated":false,"subject":"living-room",)"
        R"("text":"living-room: 16.2 °C","transition":"fired",)"
        R"("values":{"air_percent_rh":38.5,"air_temperature_celsius":16.25}})");
}

TEST_CASE("A simulated site is marked for programs and for people") {
  const std::string json = json_from_alert(kMessage, "Job", true);
  CHECK(json.find(R"("simulated":true)") != std::string::npos);
  CHECK(json.find(R"("text":"SIMULATED SITE: living-room: 16.2 °C")") != std::string::npos);
}

TEST_CASE("Bytes that are no UTF-8 do not stop a message") {
  AlertMessage message = kMessage;
  message.text = "bad \xff byte";
  CHECK(json_from_alert(message, "Job \xc3", false).find("bad \xef\xbf\xbd byte") !=
        std::string::npos);
}

TEST_CASE("A state reads back as it was written, in every phase") {
  CHECK(rule_state_from_json(json_from_rule_state(RuleState{})).value() == RuleState{});
  for (const Phase phase : {Phase::inactive, Phase::pending, Phase::firing}) {
    RuleState state = some_state();
    state.phase = phase;
    CHECK(rule_state_from_json(json_from_rule_state(state)).value() == state);
  }
}

TEST_CASE("A rule restarted from its stored state before every step goes on as undisturbed") {
  // Fire and clear inputs, one step every 5 minutes; worked out by hand for 15 minutes each.
  // + out of band, - well inside, . between the limits, _ unknown; below it the phase after the
  // step.
  const std::string inputs = "-++_+++.--_---.+-++++";
  const std::string expected = ".pppppfffffff..p.pppf";
  for (const bool restarting : {false, true}) {
    INFO("restarting " << restarting);
    RuleState state;
    std::string seen;
    UtcMicros now{1'772'352'000'000'000};
    for (const char input : inputs) {
      if (restarting) {
        state = rule_state_from_json(json_from_rule_state(state)).value();
      }
      const RuleInput rule_input =
          input == '_' ? RuleInput{} : RuleInput{input == '+', input == '-'};
      step_rule(state, {std::chrono::minutes(15), std::chrono::minutes(15)}, rule_input, now);
      seen += state.phase == Phase::firing ? 'f' : state.phase == Phase::pending ? 'p' : '.';
      now = now + std::chrono::minutes(5);
    }
    CHECK(seen == expected);
    CHECK(state.fired_count == 2);
    CHECK(state.cleared_count == 1);
  }
}

TEST_CASE("Every cut of a stored state is refused as corrupt") {
  const std::string json = json_from_rule_state(some_state());
  for (std::size_t length = 0; length < json.size(); ++length) {
    const auto state = rule_state_from_json(json.substr(0, length));
    REQUIRE_FALSE(state);
    CHECK(state.error().code == logger::store::ErrorCode::corrupt);
  }
}

TEST_CASE("A stored state with another key, kind or phase is refused") {
  const std::string json = json_from_rule_state(some_state());
  const auto with = [&](const std::string& from, const std::string& to) {
    std::string changed = json;
    REQUIRE(changed.find(from) != std::string::npos);
    return changed.replace(changed.find(from), from.size(), to);
  };
  for (const std::string& changed :
       {with("\"firing\"", "\"burning\""), with("\"firing\"", "3"), with("true", "1"),
        with("\"held_us\":61000000", "\"held_us\":61.5"), with("\"fired_count\":3,", ""),
        with("\"fired_count\"", "\"fired\""), with("{", "{\"more\":1,"), json + "x"}) {
    INFO(changed);
    CHECK_FALSE(rule_state_from_json(changed));
  }
}
