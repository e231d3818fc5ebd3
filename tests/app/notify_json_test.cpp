// Messages and states as JSON.
#include <catch2/catch.hpp>

#include "logger/notify/alert_json.hpp"

using namespace analysis::alerts;
using logger::notify::AlertContext;
using logger::notify::json_from_alert;
using logger::notify::json_from_alert_state;
using logger::notify::read_alert_state;

namespace {

const AlertMessage kMessage{
    RuleKind::out_of_band,  "living-room",
    Transition::fired,      UtcMicros{1'772'352'000'000'000},
    "living-room: 16.2 °C", {{"air_temperature_celsius", 16.25}, {"air_percent_rh", 38.5}}};

logger::store::Result<Alert> alert_from_json(std::string_view json) {
  Alert alert{RuleKind::out_of_band, "living-room", {}, {}};
  const auto read = read_alert_state(json, alert);
  return read ? logger::store::Result<Alert>{alert} : logger::store::Failure{read.error()};
}

AlertContext context_of(const std::string& job_name, bool simulated) {
  AlertContext context;
  context.job_name = job_name;
  context.simulated = simulated;
  return context;
}

Alert some_alert() {
  RuleState state;
  state.phase = Phase::firing;
  state.since = UtcMicros{1'772'352'000'000'001};
  state.held = Micros{61'000'000};
  state.holding = true;
  state.stepped_at = UtcMicros{1'772'352'061'000'001};
  state.fired_count = 3;
  state.cleared_count = 2;
  const UtcMicros fired{1'772'352'000'000'000};
  return {RuleKind::out_of_band,
          "living-room",
          state,
          {fired, "living-room: 16.2 °C", fired, fired + Micros{5}, {"office", "boss"}, 3, true}};
}

}  // namespace

TEST_CASE("A message says what, where, when, in which job, with units in its keys") {
  CHECK(json_from_alert(kMessage, context_of("Mill \"Lane\" 4", false)) ==
        R"({"at_utc":"2026-03-01T08:00:00Z","format":"dwellog-alert/1","job":"Mill \"Lane\" 4",)"
        R"("kind":"transition","rule":"out_of_band","simulated":false,"subject":"living-room",)"
        R"("text":"living-room: 16.2 °C","transition":"fired",)"
        R"("values":{"air_percent_rh":38.5,"air_temperature_celsius":16.25}})");
}

TEST_CASE("A reminder names its number, the room and its verdict") {
  AlertContext context = context_of("Job", false);
  context.kind = "reminder";
  context.number = 2;
  context.fired_at = kMessage.at - std::chrono::hours(2);
  context.room_name = "Living room";
  context.verdict = "not ready";
  const std::string json = json_from_alert(kMessage, context);
  for (const char* part : {R"("kind":"reminder","number":2)", R"("at_utc":"2026-03-01T08:00:00Z")",
                           R"("fired_at_utc":"2026-03-01T06:00:00Z")", R"("room":"Living room")",
                           R"("verdict":"not ready")"}) {
    CHECK(json.find(part) != std::string::npos);
  }
}

TEST_CASE("A simulated site is marked for programs and for people") {
  const std::string json = json_from_alert(kMessage, context_of("Job", true));
  CHECK(json.find(R"("simulated":true)") != std::string::npos);
  CHECK(json.find(R"("text":"SIMULATED SITE: living-room: 16.2 °C")") != std::string::npos);
}

TEST_CASE("Bytes that are no UTF-8 do not stop a message") {
  AlertMessage message = kMessage;
  message.text = "bad \xff byte";
  CHECK(json_from_alert(message, context_of("Job \xc3", false)).find("bad \xef\xbf\xbd byte") !=
        std::string::npos);
}

TEST_CASE("A state reads back as it was written, in every phase") {
  Alert alert = some_alert();
  for (const Phase phase : {Phase::inactive, Phase::pending, Phase::firing}) {
    alert.state.phase = phase;
    CHECK(alert_from_json(json_from_alert_state(alert)).value() == alert);
  }
  alert.telling = {};
  CHECK(alert_from_json(json_from_alert_state(alert)).value() == alert);
  alert.state = {};
  CHECK(alert_from_json(json_from_alert_state(alert)).value() == alert);
}

TEST_CASE("A state of before there was a telling is read") {
  const std::string json =
      R"({"cleared_count":2,"fired_count":3,"held_us":61000000,"holding":true,"phase":"firing",)"
      R"("since_utc_us":1772352000000001,"stepped_at_utc_us":1772352061000001})";
  Alert alert = some_alert();
  alert.telling = {};
  CHECK(alert_from_json(json).value() == alert);
}

TEST_CASE("A rule restarted from its stored state before every step goes on as undisturbed") {
  // Fire and clear inputs, one step every 5 minutes; worked out by hand for 15 minutes each.
  // + out of band, - well inside, . between the limits, _ unknown; below it the phase after the
  // step.
  const std::string inputs = "-++_+++.--_---.+-++++";
  const std::string expected = ".pppppfffffff..p.pppf";
  for (const bool restarting : {false, true}) {
    INFO("restarting " << restarting);
    Alert alert;
    RuleState& state = alert.state;
    std::string seen;
    UtcMicros now{1'772'352'000'000'000};
    for (const char input : inputs) {
      if (restarting) {
        REQUIRE(read_alert_state(json_from_alert_state(alert), alert));
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
  const std::string json = json_from_alert_state(some_alert());
  for (std::size_t length = 0; length < json.size(); ++length) {
    const auto state = alert_from_json(json.substr(0, length));
    REQUIRE_FALSE(state);
    CHECK(state.error().code == logger::store::ErrorCode::corrupt);
  }
}

TEST_CASE("A stored state with another key, kind or phase is refused") {
  const std::string json = json_from_alert_state(some_alert());
  const auto with = [&](const std::string& from, const std::string& to) {
    std::string changed = json;
    REQUIRE(changed.find(from) != std::string::npos);
    return changed.replace(changed.find(from), from.size(), to);
  };
  for (const std::string& changed :
       {with("\"firing\"", "\"burning\""), with("\"firing\"", "3"),
        with("\"holding\":true", "\"holding\":1"), with("\"held_us\":61000000", "\"held_us\":61.5"),
        with("\"fired_count\":3,", ""), with("\"fired_count\"", "\"fired\""),
        with("{", "{\"more\":1,"), json + "x",
        with("\"escalated\":true", "\"escalated\":true,\"more\":1"), with("\"office\"", "7")}) {
    INFO(changed);
    CHECK_FALSE(alert_from_json(changed));
  }
}
