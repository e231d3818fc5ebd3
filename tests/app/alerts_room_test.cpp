// The rules of a room and of a box, with the texts and values of their messages.
#include <catch2/catch.hpp>
#include <cstdlib>

#include "analysis/alerts/observations.hpp"

using namespace analysis::alerts;
using analysis::readiness::GateState;
using analysis::readiness::RoomAssessment;
using analysis::readiness::Verdict;

namespace {

constexpr Micros kStep = std::chrono::minutes(5);
constexpr UtcMicros kStart{1'772'352'000'000'000};  // 2026-03-01T08:00:00Z

RoomAssessment assessment_of(Verdict verdict) {
  RoomAssessment assessment;
  assessment.verdict = verdict;
  assessment.dwell_done_hours = 48.0;
  if (verdict == Verdict::not_ready) {
    assessment.gates = {{"evidence", GateState::unknown, "A probe is silent.", ""},
                        {"slab", GateState::not_met, "Slab at 82.1 %RH, limit 75.0 %RH.", ""}};
  }
  if (verdict == Verdict::cannot_tell) {
    assessment.gates = {{"delivery", GateState::met, "Here.", ""},
                        {"evidence", GateState::unknown, "A probe is silent.", ""}};
  }
  return assessment;
}

// One room, stepped every 5 minutes; collects "fired ready" and the like.
class Room {
 public:
  Room() {
    observation.room_id = reading.room_id = "living-room";
    reading.longest_interval = std::chrono::minutes(45);
  }
  void step(int steps = 1) {
    for (int i = 0; i < steps; ++i, now_ = now_ + kStep) {
      reading.at = now_;
      keep(step_air_alerts(alerts, timings, reading));
      keep(step_room_alerts(alerts, timings, observation, now_));
    }
  }
  void climate(const std::string& celsius, const std::string& percent_rh, int steps = 1) {
    reading.temperature.reset();
    reading.rh.reset();
    if (celsius != "_") {
      reading.temperature = analysis::base::Celsius{std::stod(celsius)};
    }
    if (percent_rh != "_") {
      reading.rh = analysis::base::rh_from_percent(std::stod(percent_rh));
    }
    step(steps);
  }
  void verdict(char symbol, int steps = 1) {
    assessment_ = assessment_of(symbol == 'r'   ? Verdict::ready
                                : symbol == 'n' ? Verdict::not_ready
                                                : Verdict::cannot_tell);
    observation.assessment = symbol == '_' ? nullptr : &assessment_;
    step(steps);
  }
  [[nodiscard]] Phase phase(RuleKind kind) const {
    for (const Alert& alert : alerts) {
      if (alert.kind == kind) {
        return alert.state.phase;
      }
    }
    return Phase::inactive;
  }

  RoomObservation observation;
  AirReading reading;
  AlertSettings timings;
  std::vector<Alert> alerts;
  std::vector<std::string> told;
  std::vector<AlertMessage> messages;

 private:
  void keep(std::vector<AlertMessage> more) {
    for (AlertMessage& message : more) {
      told.push_back(std::string(name_of(message.transition)) + " " +
                     std::string(name_of(message.kind)));
      messages.push_back(std::move(message));
    }
  }

  RoomAssessment assessment_;
  UtcMicros now_ = kStart;
};

using Told = std::vector<std::string>;

}  // namespace

TEST_CASE("Out of band fires for either value and clears 0.3 K and 1 %RH inside") {
  struct Row {
    const char* celsius;
    const char* percent_rh;
    bool fires;
  };
  for (const Row& row :
       {Row{"16.9", "50", true}, Row{"23.1", "50", true}, Row{"20", "44.9", true},
        Row{"20", "60.1", true}, Row{"17", "45", false}, Row{"23", "60", false},
        Row{"_", "44", true}, Row{"16", "_", true}, Row{"20", "_", false}, Row{"_", "_", false}}) {
    INFO(row.celsius << " degC, " << row.percent_rh << " %RH");
    Room room;
    room.climate(row.celsius, row.percent_rh, 10);
    CHECK(room.told == (row.fires ? Told{"fired out_of_band"} : Told{}));
  }
  for (const Row& row : {Row{"17.2", "50", true}, Row{"22.8", "50", true}, Row{"20", "45.9", true},
                         Row{"20", "59.1", true}, Row{"20", "_", true}, Row{"_", "_", true},
                         Row{"17.4", "46.1", false}, Row{"22.6", "58.9", false}}) {
    INFO("then " << row.celsius << " degC, " << row.percent_rh << " %RH");
    Room room;
    room.climate("16", "50", 4);
    room.climate(row.celsius, row.percent_rh, 10);
    CHECK(room.told.size() == (row.fires ? 1U : 2U));
  }
}

TEST_CASE("A narrow band can still clear") {
  Room room;
  room.reading.band = {analysis::base::Celsius{20.0}, analysis::base::Celsius{20.4},
                       analysis::base::RelativeHumidity{0.50},
                       analysis::base::RelativeHumidity{0.51}};
  room.climate("21", "50.5", 10);
  room.climate("20.2", "50.5", 10);
  CHECK(room.told == Told{"fired out_of_band", "cleared out_of_band"});
}

TEST_CASE("Out of band says values, band and units") {
  Room room;
  room.climate("16.24", "38.44", 10);
  REQUIRE(room.messages.size() == 1);
  CHECK(room.messages[0].text ==
        "living-room: room air out of band: 16.2 °C (band 17.0 to 23.0 °C), 38.4 %RH (band 45.0 to "
        "60.0 %RH)");
  CHECK(room.messages[0].subject == "living-room");
  CHECK(room.messages[0].at == kStart + std::chrono::minutes(15));
  REQUIRE(room.messages[0].values.size() == 4);
  CHECK(room.messages[0].values[0] == AlertValue{"air_temperature_celsius", 16.24});
  CHECK(room.messages[0].values[1].name == "air_percent_rh");
}

TEST_CASE("A dwell reset is told once and ends when hours have counted for an hour") {
  Room room;
  room.reading.dwell_was_reset = true;
  room.step();
  room.reading.dwell_was_reset = false;
  room.step(100);
  CHECK(room.told == Told{"fired dwell_reset"});
  room.reading.dwell_counting = true;
  room.step(12);
  CHECK(room.told.size() == 1);
  room.step();
  CHECK(room.told == Told{"fired dwell_reset", "cleared dwell_reset"});
}

TEST_CASE("Ready and no longer ready end each other with one message a change") {
  Room room;
  room.verdict('n', 20);
  CHECK(room.told.empty());  // never was ready
  room.verdict('r', 7);
  CHECK(room.told == Told{"fired ready"});
  CHECK(room.messages[0].text ==
        "living-room: ready: every gate is met, 48.0 h in band done, 0.0 h to go");
  room.verdict('n', 7);
  CHECK(room.told == Told{"fired ready", "fired no_longer_ready"});
  CHECK(room.messages[1].text ==
        "living-room: no longer ready (not ready): Slab at 82.1 %RH, limit 75.0 %RH.");
  CHECK(room.phase(RuleKind::ready) == Phase::inactive);
  room.verdict('r', 7);
  CHECK(room.told == Told{"fired ready", "fired no_longer_ready", "fired ready"});
  CHECK(room.phase(RuleKind::no_longer_ready) == Phase::inactive);
}

TEST_CASE("Cannot tell after ready is told with its reason") {
  Room room;
  room.verdict('r', 7);
  room.verdict('c', 7);
  CHECK(room.told == Told{"fired ready", "fired no_longer_ready"});
  CHECK(room.messages[1].text == "living-room: no longer ready (cannot tell): A probe is silent.");
}

TEST_CASE("Without an assessment ready holds for a week") {
  Room room;
  room.verdict('r', 7);
  room.verdict('_', 7 * 24 * 12);
  CHECK(room.told == Told{"fired ready"});
  CHECK(room.phase(RuleKind::ready) == Phase::firing);
}

TEST_CASE("Ready does not flap with a verdict that does") {
  Room room;
  for (int i = 0; i < 7 * 24 * 12; ++i) {
    room.verdict(i % 2 == 0 ? 'r' : 'n');
  }
  CHECK(room.told.empty());
  room.verdict('r', 7);
  for (int i = 0; i < 7 * 24 * 12; ++i) {
    room.verdict(i % 3 == 0 ? 'r' : i % 3 == 1 ? 'n' : 'c');
  }
  CHECK(room.told == Told{"fired ready"});
}

TEST_CASE("Whatever the timings, exactly one of the two stands once the room was ready") {
  const unsigned seed = 7;
  INFO("seed " << seed);
  std::srand(seed);
  for (int run = 0; run < 50; ++run) {
    Room room;
    room.timings.ready_fire_after = std::chrono::minutes(5 * (std::rand() % 6));
    room.timings.no_longer_ready_fire_after = std::chrono::minutes(5 * (std::rand() % 6));
    std::string last_told;
    for (int i = 0; i < 100; ++i) {
      room.verdict("rrnc_"[std::rand() % 5], 1 + std::rand() % 10);
      const bool ready = room.phase(RuleKind::ready) == Phase::firing;
      const bool ended = room.phase(RuleKind::no_longer_ready) == Phase::firing;
      REQUIRE_FALSE((ready && ended));
      if (!room.told.empty()) {
        REQUIRE(room.told.back() == (ready ? "fired ready" : "fired no_longer_ready"));
      }
    }
    CHECK_FALSE(room.told.empty());
  }
}

TEST_CASE("An event lost in a step back of the clock is none: follow the step first") {
  Room room;
  room.step();
  for (Alert& alert : room.alerts) {
    follow_clock_step(alert.state, -std::chrono::hours(2));
  }
  room.reading.dwell_was_reset = true;
  room.reading.at = kStart - std::chrono::hours(1);
  const auto messages = step_air_alerts(room.alerts, room.timings, room.reading);
  REQUIRE(messages.size() == 1);
  CHECK(messages[0].kind == RuleKind::dwell_reset);
}
