// Rules about the gates of a verdict, the trend of the air, slab, calibration and the logger
// itself. Expectations follow from the definitions in the headers; there is no published table.
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "analysis/alerts/observations.hpp"

using namespace analysis::alerts;
using analysis::base::Celsius;
using analysis::base::ChannelRole;
using analysis::base::RelativeHumidity;
using analysis::readiness::ChannelEvidence;
using analysis::readiness::GateState;

namespace {

constexpr UtcMicros kStart{1'772'352'000'000'000};  // 2026-03-01T08:00:00Z
constexpr Micros kMinute = std::chrono::minutes(1);

using Told = std::vector<std::string>;

Told told_from(const std::vector<AlertMessage>& messages) {
  Told told;
  for (const AlertMessage& message : messages) {
    told.push_back(std::string(name_of(message.transition)) + " " +
                   std::string(name_of(message.kind)));
  }
  return told;
}

// A room of which the newest hours are given by functions of the hours since the start.
class RoomWithTrend {
 public:
  RoomWithTrend() {
    room.room_id = "hall";
    room.evidence = &evidence;
    room.requirements = &requirements;
    room.assessment = &assessment;
    for (const ChannelRole role : {ChannelRole::room_air_temperature, ChannelRole::room_air_rh}) {
      ChannelEvidence channel;
      channel.role = role;
      evidence.channels.push_back(channel);
    }
  }
  // Readings every 5 minutes of the 4 h before that hour.
  void fill(double hour, double celsius_now, double kelvin_per_hour, double noise = 0.0) {
    const UtcMicros now = kStart + analysis::base::micros_from_hours(hour);
    evidence.now = now;
    for (ChannelEvidence& channel : evidence.channels) {
      channel.recent.points.clear();
      for (int minute = 240; minute >= 0; minute -= 5) {
        const double of_line = celsius_now - kelvin_per_hour * minute / 60.0;
        const double value = channel.role == ChannelRole::room_air_rh
                                 ? 0.50 + 0.001 * normal_(random_)
                                 : of_line + noise * normal_(random_);
        channel.recent.points.push_back({now - minute * kMinute, value});
      }
      channel.last_good = channel.recent.points.back();
    }
  }
  void step(double hour, double celsius_now, double kelvin_per_hour, double noise = 0.0) {
    fill(hour, celsius_now, kelvin_per_hour, noise);
    step_rules();
  }
  void step_rules() {
    for (AlertMessage& message : step_room_alerts(alerts, settings, room, evidence.now)) {
      messages.push_back(std::move(message));
    }
  }
  RoomObservation room;
  analysis::readiness::RoomEvidence evidence;
  analysis::readiness::FloorRequirements requirements;
  analysis::readiness::RoomAssessment assessment;
  AlertSettings settings;
  std::vector<Alert> alerts;
  std::vector<AlertMessage> messages;

 private:
  std::mt19937 random_{11};
  std::normal_distribution<double> normal_;
};

void set_gate(RoomWithTrend& rig, const std::string& id, GateState state) {
  rig.assessment.gates = {{id, state, "Reason.", state == GateState::met ? "" : "Do it."}};
}

}  // namespace

TEST_CASE("Air that will leave its band within hours is told before it does, and once") {
  RoomWithTrend rig;
  for (double hour = 0.0; hour < 2.0; hour += 0.25) {
    rig.step(hour, 21.6 + 0.4 * hour, 0.4, 0.05);  // the edge of 23 °C is 3.5 h away and nearer
  }
  REQUIRE(told_from(rig.messages) == Told{"fired out_of_band_soon"});
  CHECK(rig.messages[0].text.find("hall: the room air leaves its band in about 2 h") == 0);
  CHECK(rig.messages[0].text.find("rising 0.4 K an hour, limit 23.0 °C") != std::string::npos);
  for (double hour = 2.0; hour < 5.0; hour += 0.25) {
    rig.step(hour, 22.0, 0.0, 0.05);
  }
  CHECK(told_from(rig.messages) == Told{"fired out_of_band_soon", "cleared out_of_band_soon"});
}

TEST_CASE("A slow trend, noise and air that is out already are not told as soon out") {
  RoomWithTrend slow;
  RoomWithTrend noise;
  RoomWithTrend out;
  for (double hour = 0.0; hour < 24.0; hour += 0.25) {
    slow.step(hour, 20.0, 0.2);
    noise.step(hour, 22.7, 0.0, 0.1);
    out.step(hour, 24.0, 0.4);
  }
  CHECK(slow.messages.empty());
  CHECK(noise.messages.empty());
  CHECK(out.messages.empty());
}

TEST_CASE("When the air is out, that is told, and soon out ends without a word") {
  RoomWithTrend rig;
  for (double hour = 0.0; hour < 1.0; hour += 0.25) {
    rig.step(hour, 22.5, 0.4);
  }
  REQUIRE(told_from(rig.messages) == Told{"fired out_of_band_soon"});
  for (int minute = 60; minute < 80; ++minute) {
    step_air_alerts(rig.alerts, rig.settings,
                    {"hall",
                     kStart + minute * kMinute,
                     {},
                     std::chrono::minutes(45),
                     Celsius{23.2},
                     RelativeHumidity{0.5}});
  }
  rig.step(1.4, 23.2, 0.4);
  CHECK(rig.messages.size() == 1);
  for (const Alert& alert : rig.alerts) {
    CHECK((alert.kind != RuleKind::out_of_band_soon || alert.state.phase == Phase::inactive));
  }
}

TEST_CASE("Complete hours are told once, and their loss unless a reset tells it") {
  RoomWithTrend rig;
  set_gate(rig, "dwell", GateState::not_met);
  rig.step(0, 20, 0);
  set_gate(rig, "dwell", GateState::met);
  rig.step(1, 20, 0);
  set_gate(rig, "dwell", GateState::unknown);
  rig.step(2, 20, 0);
  set_gate(rig, "dwell", GateState::met);
  rig.step(3, 20, 0);
  CHECK(told_from(rig.messages) == Told{"fired dwell_done"});
  CHECK(rig.messages[0].text.find("hall: the hours are complete: ") == 0);
  set_gate(rig, "dwell", GateState::not_met);
  rig.step(4, 20, 0);
  CHECK(told_from(rig.messages) == Told{"fired dwell_done", "cleared dwell_done"});
  set_gate(rig, "dwell", GateState::met);
  rig.step(5, 20, 0);
  AirReading reset{"hall", kStart + analysis::base::micros_from_hours(5.5)};
  reset.dwell_was_reset = true;
  step_air_alerts(rig.alerts, rig.settings, reset);
  set_gate(rig, "dwell", GateState::not_met);
  rig.step(6, 20, 0);
  CHECK(rig.messages.size() == 3);
}

TEST_CASE("The stack lags when the hours are complete, or it has lain long enough") {
  struct Row {
    GateState dwell;
    double delivered_hours_ago;
    GateState core;
    bool fires;
  };
  for (const Row& row : {Row{GateState::met, 20, GateState::not_met, true},
                         Row{GateState::not_met, 20, GateState::not_met, false},
                         Row{GateState::not_met, 50, GateState::not_met, true},
                         Row{GateState::met, 50, GateState::unknown, false},
                         Row{GateState::met, 50, GateState::met, false}}) {
    RoomWithTrend rig;
    rig.assessment.gates = {{"dwell", row.dwell, "Hours.", ""},
                            {"stack_core", row.core, "Core 14.0 °C.", ""}};
    rig.evidence.delivered_at = kStart - analysis::base::micros_from_hours(row.delivered_hours_ago);
    for (double hour = 0.0; hour <= 1.0; hour += 0.25) {
      rig.step(hour, 20, 0);
    }
    Told told = told_from(rig.messages);
    std::erase(told, "fired dwell_done");
    CHECK(told == (row.fires ? Told{"fired stack_lagging"} : Told{}));
    if (row.fires) {
      rig.assessment.gates = {{"stack_core", GateState::met, "Core 19.8 °C.", ""}};
      for (double hour = 1.25; hour <= 2.0; hour += 0.25) {
        rig.step(hour, 20, 0);
      }
      CHECK(rig.messages.back().text == "hall: the stack has come to the room: Core 19.8 °C.");
    }
  }
}

namespace {

// A room with a surface probe: fires by the gate's margin of 3 K, clears 1 K above it.
class SlabRoom : public RoomWithTrend {
 public:
  SlabRoom() {
    requirements.slab.emplace();
    ChannelEvidence surface;
    surface.channel_id = "surface";
    surface.role = ChannelRole::slab_surface_temperature;
    evidence.channels.push_back(surface);
  }
  // The dew point of 20 °C and 50 %RH is 9.3 °C (by the Magnus equation; from memory).
  void step_with_surface(double hour, double celsius) {
    fill(hour, 20.0, 0.0);
    for (auto& point : evidence.channels[2].recent.points) {
      point.value = celsius;
    }
    set_gate(*this, "condensation", celsius - 9.3 >= 3.0 ? GateState::met : GateState::not_met);
    step_rules();
  }
};

}  // namespace

TEST_CASE("Condensation fires at the gate's limit and clears a kelvin beyond it") {
  SlabRoom rig;
  double hour = 0.0;
  for (; hour < 2.0; hour += 0.25) {
    rig.step_with_surface(hour, 12.0);
  }
  REQUIRE(told_from(rig.messages) == Told{"fired condensation_risk"});
  CHECK(rig.messages[0].text == "hall: water may condense on the slab: Reason. Do it.");
  for (; hour < 12.0; hour += 0.25) {
    rig.step_with_surface(hour, 12.8);  // the gate is met, the alert not over
  }
  CHECK(rig.messages.size() == 1);
  for (; hour < 15.0; hour += 0.25) {
    rig.step_with_surface(hour, 13.6);
  }
  CHECK(told_from(rig.messages) == Told{"fired condensation_risk", "cleared condensation_risk"});
}

namespace {

class SlabChannel {
 public:
  // A day of readings each quarter of an hour that end at that hour.
  void step(double hour, double percent_now, double percent_per_day, double noise = 0.0) {
    ChannelObservation channel;
    channel.channel_id = "slab-rh";
    const UtcMicros now = kStart + analysis::base::micros_from_hours(hour);
    for (int quarter = 96; quarter >= 0; --quarter) {
      channel.settled_slab_rh.push_back(
          {now - quarter * 15 * kMinute,
           (percent_now - percent_per_day * quarter / 96.0 + noise * normal_(random_)) / 100.0});
    }
    for (AlertMessage& message : step_channel_alerts(alerts, settings, channel, now)) {
      messages.push_back(std::move(message));
    }
  }
  AlertSettings settings;
  std::vector<Alert> alerts;
  std::vector<AlertMessage> messages;

 private:
  std::mt19937 random_{5};
  std::normal_distribution<double> normal_;
};

}  // namespace

TEST_CASE("A slab that gets wetter is told after six hours and not while it is only noise") {
  SlabChannel rising;
  SlabChannel drying;
  SlabChannel noise;
  for (double hour = 0; hour <= 24; hour += 1) {
    rising.step(hour, 76 + hour / 24, 1.0, 0.1);
    drying.step(hour, 76 - hour / 24, -1.0, 0.1);
    noise.step(hour, 76, 0.0, 0.3);
  }
  REQUIRE(told_from(rising.messages) == Told{"fired slab_rising"});
  CHECK(rising.messages[0].at == kStart + std::chrono::hours(6));
  CHECK(rising.messages[0].text.find("slab-rh: the RH in the slab rises by ") == 0);
  CHECK(drying.messages.empty());
  CHECK(noise.messages.empty());
  for (double hour = 25; hour <= 40; hour += 1) {
    rising.step(hour, 77, 0.0, 0.1);
  }
  CHECK(told_from(rising.messages) == Told{"fired slab_rising", "cleared slab_rising"});
}

TEST_CASE("A slab that dries to its limit and moves about it is told dry enough once") {
  RoomWithTrend rig;
  rig.requirements.slab.emplace();
  ChannelEvidence slab;
  slab.channel_id = "slab-rh";
  slab.role = ChannelRole::slab_rh;
  slab.placed_at = kStart - std::chrono::hours(24 * 30);
  rig.evidence.channels.push_back(slab);
  const auto step = [&](double hour, double percent) {
    const UtcMicros now = kStart + analysis::base::micros_from_hours(hour);
    auto& points = rig.evidence.channels[2].recent.points;
    points.clear();
    for (int quarter = 96; quarter >= 0; --quarter) {
      points.push_back({now - quarter * 15 * kMinute, percent / 100.0});
    }
    rig.evidence.channels[2].last_good = points.back();
    rig.evidence.channels[2].last_seen_at = now;
    rig.evidence.now = now;
    set_gate(rig, "slab", percent <= 75.0 ? GateState::met : GateState::not_met);
    for (AlertMessage& message : step_room_alerts(rig.alerts, rig.settings, rig.room, now)) {
      rig.messages.push_back(std::move(message));
    }
  };
  double hour = 0;
  for (; hour < 24; hour += 0.5) {
    step(hour, 77.0);
  }
  CHECK(rig.messages.empty());
  for (; hour < 24 * 7; hour += 0.5) {
    step(hour, static_cast<int>(hour) % 24 < 12 ? 74.8 : 75.4);
  }
  CHECK(told_from(rig.messages) == Told{"fired slab_done"});
  for (; hour < 24 * 8; hour += 0.5) {
    step(hour, 76.5);
  }
  CHECK(told_from(rig.messages) == Told{"fired slab_done", "cleared slab_done"});
}

TEST_CASE("A calibration is told two weeks before it expires, and a new one ends it") {
  std::vector<Alert> alerts;
  ChannelObservation channel;
  channel.channel_id = "air-rh";
  const auto at_day = [&](double day) {
    return step_channel_alerts(alerts, {}, channel,
                               kStart + analysis::base::micros_from_hours(24 * day));
  };
  CHECK(at_day(0).empty());  // no certificate known is no date
  channel.calibration_due_at = kStart + std::chrono::hours(24 * 30);
  CHECK(at_day(15).empty());
  const auto fired = at_day(16);
  REQUIRE(told_from(fired) == Told{"fired calibration_expiring"});
  CHECK(fired[0].text ==
        "air-rh: its calibration expires on 2026-03-31, in 14 d 0 h; have it calibrated, or note "
        "the new certificate");
  CHECK(at_day(31).empty());
  channel.calibration_due_at = kStart + std::chrono::hours(24 * 300);
  CHECK(told_from(at_day(32)) == Told{"cleared calibration_expiring"});
}

TEST_CASE("Room on the disk runs out by bytes, by share and by the store's own limit") {
  struct Row {
    std::int64_t free, disk, store, limit;
    bool low;
  };
  constexpr std::int64_t kGb = 1'000'000'000;
  for (const Row& row : {Row{400'000'000, 8 * kGb, 0, 0, true}, Row{2 * kGb, 64 * kGb, 0, 0, false},
                         Row{2 * kGb, 128 * kGb, 0, 0, true}, Row{9 * kGb, 64 * kGb, 9, 10, true},
                         Row{9 * kGb, 64 * kGb, 6, 10, false}}) {
    INFO(row.free << " free of " << row.disk << ", store " << row.store << " of " << row.limit);
    std::vector<Alert> alerts;
    LoggerObservation logger{true, Micros{0}, row.free, row.disk, row.store, row.limit};
    Told told;
    for (int minute = 0; minute <= 20; ++minute) {
      for (const auto& line :
           told_from(step_logger_alerts(alerts, {}, logger, kStart + minute * kMinute))) {
        told.push_back(line);
      }
    }
    CHECK(told == (row.low ? Told{"fired disk_low"} : Told{}));
    // A little above the limit it stands; well above it ends.
    logger = {true, Micros{0}, 20 * kGb, 64 * kGb, 0, 0};
    for (int minute = 21; minute <= 120; ++minute) {
      for (const auto& line :
           told_from(step_logger_alerts(alerts, {}, logger, kStart + minute * kMinute))) {
        told.push_back(line);
      }
    }
    CHECK(told.size() == (row.low ? 2 : 0));
  }
}

TEST_CASE("A clock that was put is told at once, one that nothing keeps after an hour") {
  std::vector<Alert> alerts;
  LoggerObservation logger{true, std::chrono::minutes(-90)};
  const auto at_minute = [&](int minute) {
    return step_logger_alerts(alerts, {}, logger, kStart + minute * kMinute);
  };
  const auto stepped = at_minute(0);
  REQUIRE(told_from(stepped) == Told{"fired clock_unsure"});
  CHECK(stepped[0].text ==
        "logger: its clock was put back by 1 h 30 min; earlier readings are dated anew");
  logger.clock_step = Micros{0};
  CHECK(at_minute(1).empty());
  CHECK(told_from(at_minute(16)) == Told{"cleared clock_unsure"});
  logger.clock_synchronised = false;
  CHECK(at_minute(17).empty());
  CHECK(at_minute(76).empty());
  CHECK(told_from(at_minute(77)) == Told{"fired clock_unsure"});
}

TEST_CASE("Readings that are dated too roughly are told of their box") {
  std::vector<Alert> alerts;
  BoxObservation box{"box-1", kStart, kStart, 0, std::chrono::seconds(90)};
  Told told;
  for (int minute = 0; minute <= 120; minute += 5) {
    box.last_sample_at = kStart + minute * kMinute;
    box.time_error = minute < 90 ? std::chrono::seconds(90) : std::chrono::seconds(2);
    for (const auto& line :
         told_from(step_box_alerts(alerts, {}, box, kStart + minute * kMinute))) {
      told.push_back(line);
    }
  }
  CHECK(told == Told{"fired clock_unsure", "cleared clock_unsure"});
}

TEST_CASE("A rule that is switched off says nothing, and falls back when it was firing") {
  RoomWithTrend rig;
  set_gate(rig, "dwell", GateState::met);
  rig.step(0, 20, 0);
  REQUIRE(rig.messages.size() == 1);
  rig.settings.off = {RuleKind::dwell_done};
  set_gate(rig, "dwell", GateState::not_met);
  rig.step(1, 20, 0);
  set_gate(rig, "dwell", GateState::met);
  rig.step(2, 20, 0);
  CHECK(rig.messages.size() == 1);
  for (const Alert& alert : rig.alerts) {
    CHECK((alert.kind != RuleKind::dwell_done || alert.state.phase == Phase::inactive));
  }
}

namespace {

AirReading air_at(int minute, double celsius) {
  return {"hall",           kStart + minute * kMinute, {}, std::chrono::minutes(45),
          Celsius{celsius}, RelativeHumidity{0.5}};
}

}  // namespace

TEST_CASE("A step past the limit is told within its time and one sample, from a backlog too") {
  const unsigned seed = 3;
  INFO("seed " << seed);
  std::mt19937 random(seed);
  std::normal_distribution<double> noise(0.0, 0.1);
  for (const int first_out : {1, 17, 240, 1000}) {
    std::vector<Alert> alerts;
    std::vector<AlertMessage> messages;
    for (int minute = 0; minute < 1440; ++minute) {  // as one backlog holds them
      const double celsius = (minute < first_out ? 22.0 : 23.6) + noise(random);
      for (auto& message : step_air_alerts(alerts, {}, air_at(minute, celsius))) {
        messages.push_back(std::move(message));
      }
    }
    REQUIRE(told_from(messages) == Told{"fired out_of_band"});
    CHECK(messages[0].at <= kStart + (first_out + 15 + 1) * kMinute);
  }
}

TEST_CASE("Noise on the limit for a week is told once, and its end once") {
  for (const unsigned seed : {1U, 2U, 3U, 4U}) {
    INFO("seed " << seed);
    std::mt19937 random(seed);
    std::normal_distribution<double> noise(0.0, 0.15);
    std::vector<Alert> alerts;
    Told told;
    int crossings = 0;
    double before = 0.0;
    for (int minute = 0; minute < 9 * 1440; ++minute) {
      const int day = minute / 1440;
      const double middle = day < 1 ? 21.0 : day < 8 ? 23.1 : 21.0;
      const double celsius = middle + noise(random);
      crossings += (celsius > 23.0) != (before > 23.0) ? 1 : 0;
      before = celsius;
      for (const auto& line : told_from(step_air_alerts(alerts, {}, air_at(minute, celsius)))) {
        told.push_back(line);
      }
    }
    CHECK(crossings > 1000);
    CHECK(told == Told{"fired out_of_band", "cleared out_of_band"});
  }
}

TEST_CASE("Time between two readings too far apart does not count towards a rule") {
  std::vector<Alert> alerts;
  CHECK(step_air_alerts(alerts, {}, air_at(0, 24)).empty());
  CHECK(step_air_alerts(alerts, {}, air_at(600, 24)).empty());
  CHECK(step_air_alerts(alerts, {}, air_at(614, 24)).empty());
  CHECK(step_air_alerts(alerts, {}, air_at(615, 24)).size() == 1);
}
