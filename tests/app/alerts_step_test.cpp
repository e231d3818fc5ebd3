// Rules as small series: one value every 5 minutes, `_` for missing; below it what happened:
// . nothing, p pending, F fired, f firing, C cleared.
// Expectations follow from the definitions in alert_rules.hpp; there is no published table.
#include <catch2/catch.hpp>
#include <random>
#include <sstream>

#include "analysis/alerts/alert_rules.hpp"

using namespace analysis::alerts;

namespace {

constexpr Micros kStep = std::chrono::minutes(5);
constexpr RuleTiming kQuarterHour{std::chrono::minutes(15), std::chrono::minutes(15)};
constexpr UtcMicros kStart{1'772'352'000'000'000};  // 2026-03-01T08:00:00Z

// Fires above 10.0, clears below 9.5.
RuleInput input_from(const std::string& value) {
  if (value == "_") {
    return {};
  }
  const double number = std::stod(value);
  return {number > 10.0, number < 9.5};
}

class Rule {
 public:
  explicit Rule(RuleTiming timing) : timing_(timing) {}
  std::string run(const std::string& series) {
    std::istringstream values(series);
    std::string symbols;
    for (std::string value; values >> value; now_ = now_ + kStep) {
      symbols += symbol_from(step_rule(state, timing_, input_from(value), now_));
    }
    return symbols;
  }
  RuleState state;

 private:
  [[nodiscard]] char symbol_from(Transition transition) const {
    if (transition != Transition::none) {
      return transition == Transition::fired ? 'F' : 'C';
    }
    return state.phase == Phase::firing ? 'f' : state.phase == Phase::pending ? 'p' : '.';
  }
  RuleTiming timing_;
  UtcMicros now_ = kStart;
};

}  // namespace

TEST_CASE("A rule follows its series") {
  struct Row {
    const char* name;
    const char* values;
    const char* expected;
  };
  const Row rows[] = {
      {"stays quiet below the limit", "9.0 9.9 10.0 9.9", "...."},
      {"fires when the limit was passed for 15 minutes", "9.0 10.1 10.1 10.1 10.1 10.1", ".pppFf"},
      {"a break starts the clock anew", "10.1 10.1 10.1 9.9 10.1 10.1 10.1 10.1", "ppp.pppF"},
      {"between the limits it keeps firing", "10.1 10.1 10.1 10.1 9.9 9.6 9.9 9.6", "pppFffff"},
      {"clears after 15 minutes inside", "10.1 10.1 10.1 10.1 9.4 9.4 9.4 9.4 9.4", "pppFfffC."},
      {"one value outside the clear limit holds it",
       "10.1 10.1 10.1 10.1 9.4 9.4 9.6 9.4 9.4 9.4 9.4", "pppFffffffC"},
      {"missing values hold pending and stop its clock", "10.1 10.1 _ _ _ _ 10.1 10.1 10.1",
       "ppppppppF"},
      {"missing values hold firing", "10.1 10.1 10.1 10.1 _ _ _ _ _ _", "pppFffffff"},
      {"missing values stop the clear clock", "10.1 10.1 10.1 10.1 9.4 9.4 _ _ _ 9.4 9.4 9.4",
       "pppFfffffffC"},
      {"missing values alone do nothing", "_ _ _ _ _", "....."},
      {"missing then below ends pending", "10.1 _ 9.0", "pp."},
  };
  for (const Row& row : rows) {
    INFO(row.name);
    CHECK(Rule(kQuarterHour).run(row.values) == row.expected);
  }
}

TEST_CASE("Without durations a rule fires and clears at once") {
  CHECK(Rule({}).run("9.0 10.1 10.1 9.7 9.4 10.1 9.4") == ".FffCFC");
}

TEST_CASE("A week of noise on the limit gives one fire and one clear") {
  const unsigned seed = 20260301;
  INFO("seed " << seed);
  std::mt19937 random(seed);
  std::normal_distribution<double> noise(0.0, 0.1);
  std::ostringstream series;
  for (int i = 0; i < 6; ++i) {
    series << "10.5 ";
  }
  for (int i = 0; i < 7 * 24 * 12; ++i) {
    series << 10.0 + noise(random) << ' ';
  }
  for (int i = 0; i < 6; ++i) {
    series << "9.0 ";
  }
  for (const RuleTiming& timing : {kQuarterHour, RuleTiming{}}) {
    Rule rule(timing);
    rule.run(series.str());
    CHECK(rule.state.fired_count == 1);
    CHECK(rule.state.cleared_count == 1);
    CHECK(rule.state.phase == Phase::inactive);
  }
}

TEST_CASE("Unknown for a week while firing is still firing") {
  Rule rule(kQuarterHour);
  CHECK(rule.run("10.1 10.1 10.1 10.1") == "pppF");
  std::string week;
  for (int i = 0; i < 7 * 24 * 12; ++i) {
    week += "_ ";
  }
  CHECK(rule.run(week) == std::string(7 * 24 * 12, 'f'));
  CHECK(rule.state.cleared_count == 0);
  CHECK(rule.run("9.4 9.4 9.4 9.4") == "fffC");
}

TEST_CASE("After a stop an unknown step keeps the dead time out of the clock") {
  RuleState state;
  step_rule(state, kQuarterHour, {true, false}, kStart);
  const UtcMicros restart = kStart + std::chrono::hours(3);
  CHECK(step_rule(state, kQuarterHour, {}, restart) == Transition::none);
  CHECK(step_rule(state, kQuarterHour, {true, false}, restart + kStep) == Transition::none);
  CHECK(state.phase == Phase::pending);
}

TEST_CASE("A time earlier than the step before changes nothing") {
  for (const RuleInput input : {RuleInput{true, false}, RuleInput{false, true}, RuleInput{}}) {
    Rule rule(kQuarterHour);
    rule.run("10.1 10.1 10.1 10.1 9.4");
    const RuleState before = rule.state;
    CHECK(step_rule(rule.state, {}, input, *before.stepped_at - Micros{1}) == Transition::none);
    CHECK(rule.state == before);
  }
}

TEST_CASE("A clock set back does not stop a rule that follows the step") {
  RuleState state;
  step_rule(state, kQuarterHour, {true, false}, kStart);
  const Micros back = -std::chrono::hours(24 * 365);
  follow_clock_step(state, back);
  CHECK(state.since == kStart + back);
  CHECK(step_rule(state, kQuarterHour, {true, false}, kStart + back + kQuarterHour.fire_after) ==
        Transition::fired);
}

TEST_CASE("A true step past the limit fires within its duration plus one sample") {
  for (int phase_s = 0; phase_s < 300; phase_s += 37) {
    RuleState state;
    const UtcMicros passed = kStart + std::chrono::seconds(phase_s);
    std::optional<UtcMicros> fired_at;
    for (int i = 0; i < 20 && !fired_at; ++i) {
      const UtcMicros now = kStart + kStep * i;
      if (step_rule(state, kQuarterHour, {now >= passed, now < passed}, now) == Transition::fired) {
        fired_at = now;
      }
    }
    REQUIRE(fired_at);
    CHECK(*fired_at - passed <= kQuarterHour.fire_after + kStep);
    CHECK(*fired_at - passed >= kQuarterHour.fire_after);
  }
}

TEST_CASE("Names and keys read back, and nothing else does") {
  for (const RuleKind kind : {RuleKind::out_of_band, RuleKind::dwell_reset, RuleKind::probe_silent,
                              RuleKind::ready, RuleKind::no_longer_ready}) {
    CHECK(rule_from_name(name_of(kind)) == kind);
    const Alert alert{kind, "living-room", {}};
    CHECK(alert_from_key(key_of(alert)) == alert);
  }
  CHECK(key_of({RuleKind::out_of_band, "living-room", {}}) == "out_of_band/living-room");
  for (const Phase phase : {Phase::inactive, Phase::pending, Phase::firing}) {
    CHECK(phase_from_name(name_of(phase)) == phase);
  }
  CHECK_FALSE(rule_from_name("unknown"));
  CHECK_FALSE(phase_from_name(""));
  for (const char* key : {"", "/", "out_of_band", "out_of_band/", "nothing/room", "/room"}) {
    CHECK_FALSE(alert_from_key(key));
  }
}
