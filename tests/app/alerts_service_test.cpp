// The climate that a laid floor is to be kept in: the means, when the rule fires, and what the
// rules of the dwell do once the floor lies. All series are invented.
#include <catch2/catch.hpp>
#include <random>

#include "analysis/alerts/observations.hpp"

using namespace analysis::alerts;
using analysis::base::Celsius;
using analysis::base::RelativeHumidity;
using analysis::readiness::is_outside;
using analysis::readiness::ServiceAir;
using analysis::readiness::ServiceAirWindow;
using analysis::readiness::ServiceClimate;

namespace {

constexpr Micros kMinute = std::chrono::minutes(1);
constexpr Micros kHour = std::chrono::hours(1);
constexpr UtcMicros kLaid{1'772'352'000'000'000};  // 2026-03-01T08:00:00Z

using Told = std::vector<std::string>;

// A laid floor with a reading every 5 minutes, the rule stepped after each.
class LaidRoom {
 public:
  // nullopt = no reading comes.
  void hours(int count, std::optional<double> celsius, std::optional<double> percent_rh) {
    for (int i = 0; i < count * 12; ++i) {
      reading(celsius, percent_rh);
    }
  }
  void reading(std::optional<double> celsius, std::optional<double> percent_rh) {
    now = now + 5 * kMinute;
    if (celsius) {
      window.add(now, Celsius{*celsius});
    }
    if (percent_rh) {
      window.add(now, RelativeHumidity{*percent_rh / 100.0});
    }
    keep(step_service_alerts(alerts, settings, {"kitchen", climate, window.air_at(now)}, now));
  }
  void keep(std::vector<AlertMessage> more) {
    for (AlertMessage& message : more) {
      told.push_back(std::string(name_of(message.transition)) + " " +
                     std::string(name_of(message.kind)));
      messages.push_back(std::move(message));
    }
  }

  ServiceClimate climate;  // 17 to 23 degC, 45 to 60 %RH
  AlertSettings settings;
  ServiceAirWindow window{std::chrono::hours(24)};
  std::vector<Alert> alerts;
  std::vector<AlertMessage> messages;
  Told told;
  UtcMicros now = kLaid;
};

}  // namespace

TEST_CASE("A mean weighs each hour with a reading alike and is known from half of them on") {
  ServiceAirWindow window(std::chrono::hours(4));
  // Two hours: ten readings of 40 %RH, then one of 50. (40 + 50) / 2 = 45 %RH.
  for (int i = 0; i < 10; ++i) {
    window.add(kLaid + i * kMinute, RelativeHumidity{0.40});
  }
  CHECK_FALSE(window.air_at(kLaid + 10 * kMinute).rh);  // one hour of four
  window.add(kLaid + kHour, RelativeHumidity{0.50});
  const ServiceAir air = window.air_at(kLaid + kHour);
  REQUIRE(air.rh);
  CHECK(air.rh->value() == Approx(0.45).margin(1e-12));
  CHECK(air.rh_hours == 2);
  CHECK_FALSE(air.temperature);
  // An hour that left the window counts no more; then too few are left.
  CHECK(window.air_at(kLaid + 3 * kHour).rh_hours == 2);
  CHECK(window.air_at(kLaid + 4 * kHour).rh_hours == 1);
  CHECK_FALSE(window.air_at(kLaid + 4 * kHour).rh);
}

TEST_CASE("What is not known is outside of nothing and not inside either") {
  const ServiceClimate climate;
  const auto air = [](std::optional<double> celsius, std::optional<double> percent_rh) {
    ServiceAir made{std::chrono::hours(24), 24, 24, {}, {}};
    made.temperature = celsius ? std::optional(Celsius{*celsius}) : std::nullopt;
    made.rh = percent_rh ? std::optional(RelativeHumidity{*percent_rh / 100.0}) : std::nullopt;
    return made;
  };
  CHECK(is_outside(air(20, 50), climate) == false);
  CHECK(is_outside(air(17, 45), climate) == false);  // on a limit is inside
  CHECK(is_outside(air(23, 60), climate) == false);
  CHECK(is_outside(air(20, 44.9), climate) == true);
  CHECK(is_outside(air({}, 60.1), climate) == true);
  CHECK(is_outside(air(23.1, {}), climate) == true);
  CHECK_FALSE(is_outside(air(20, {}), climate).has_value());
  CHECK_FALSE(is_outside(air({}, {}), climate).has_value());
}

TEST_CASE(
    "The rule fires by the mean, an hour after it left the climate, and clears inside of it") {
  LaidRoom room;
  room.hours(24, 20, 50);
  REQUIRE(room.told.empty());
  // Mean of 24 h with n hours of 38 %RH in it: 50 - n / 2; below 45 from n = 11 on (44.5).
  room.hours(10, 20, 38);
  CHECK(room.told.empty());
  room.hours(3, 20, 38);
  REQUIRE(room.told == Told{"fired service_climate"});
  CHECK(room.messages[0].text.starts_with(
      "kitchen: the laid floor's room is too dry, mean of 24 h 20.0 °C (keep 17.0 to 23.0 °C), "));
  CHECK(room.messages[0].text.ends_with(
      "dry air shrinks the floor, joints may open: humidify or heat less"));
  REQUIRE(room.messages[0].values.size() == 3);
  CHECK(room.messages[0].values[0].value == 24.0);
  CHECK(room.messages[0].values[1].value == Approx(20.0));
  CHECK(room.messages[0].values[2].value < 45.0);
  // 13 hours of 38 %RH in the mean, and then 50 again: those leave after 11 hours more, one by one;
  // the mean is above 46 %RH once 7 are left (46.5): from the 17th hour on, and an hour later.
  room.hours(16, 20, 50);
  CHECK(room.told.size() == 1);
  room.hours(4, 20, 50);
  REQUIRE(room.told.size() == 2);
  CHECK(room.told[1] == "cleared service_climate");
  CHECK(room.messages[1].text.find("is back in the climate to keep, mean of 24 h") !=
        std::string::npos);
}

TEST_CASE(
    "Each way out has its word, what the floor does, and advice that does not go against another") {
  struct Row {
    double celsius;
    double percent_rh;
    const char* name;
    const char* has;
    const char* lacks;
  };
  for (const Row& row :
       {Row{20, 30, "is too dry,", "shrinks the floor", "swells"},
        Row{20, 70, "is too damp,", "swells the floor into its gap", "shrinks"},
        Row{10, 50, "is too cold,", "heat the room evenly", "humidify"},
        Row{28, 50, "is too warm,", "heat less, shade the sun", "humidify"},
        Row{10, 30, "is too dry and too cold,", "humidify; heat the room", "heat less"},
        Row{28, 70, "is too damp and too warm,", "dry the air; heat less", "or heat"}}) {
    LaidRoom room;
    room.hours(26, row.celsius, row.percent_rh);
    INFO(row.name);
    REQUIRE(room.messages.size() == 1);
    CHECK(room.messages[0].text.find(row.name) != std::string::npos);
    CHECK(room.messages[0].text.find(row.has) != std::string::npos);
    CHECK(room.messages[0].text.find(row.lacks) == std::string::npos);
  }
}

TEST_CASE("Missing data in service neither fires nor clears") {
  LaidRoom room;
  room.hours(10, 20, 30);  // 11 hours of the clock, less than half of 24
  CHECK(room.told.empty());
  room.hours(48, {}, {});
  CHECK(room.told.empty());
  room.hours(14, 20, 30);
  REQUIRE(room.told == Told{"fired service_climate"});
  room.hours(24 * 10, {}, {});
  CHECK(room.told.size() == 1);  // silence is no good climate
  room.hours(30, 20, 50);
  CHECK(room.told == Told{"fired service_climate", "cleared service_climate"});
}

TEST_CASE("A week of noise on the limit tells at most once") {
  for (const unsigned seed : {1U, 2U, 3U, 4U, 5U}) {
    INFO("seed " << seed);
    std::mt19937 random(seed);
    std::normal_distribution<double> noise(0.0, 3.0);
    LaidRoom room;
    for (int i = 0; i < 7 * 24 * 12; ++i) {
      room.reading(20.0 + noise(random) / 5.0, 45.0 + noise(random));
    }
    CHECK(room.told.size() <= 1);
  }
}

TEST_CASE("A day's swing around a mean inside tells nothing; the window is the job's") {
  const auto told_with = [](int hours) {
    LaidRoom room;
    room.settings.service_mean_over = std::chrono::hours(hours);
    room.window = ServiceAirWindow(std::chrono::hours(hours));
    room.hours(6, 20, 40);
    for (int day = 0; day < 5; ++day) {
      room.hours(12, 20, 58);
      room.hours(12, 20, 40);
    }
    return room.told.size();
  };
  CHECK(told_with(24) == 0);  // (40 + 58) / 2 = 49 %RH
  CHECK(told_with(4) > 2);
}

TEST_CASE("Laying that begins anew ends the rule at once") {
  LaidRoom room;
  room.hours(26, 20, 30);
  REQUIRE(room.told.size() == 1);
  room.keep(step_service_alerts(room.alerts, room.settings, {"kitchen", room.climate, {}},
                                room.now + kMinute));
  REQUIRE(room.told.size() == 2);
  CHECK(room.messages[1].text ==
        "kitchen: laying began anew; the climate to keep counts once it is finished");
  CHECK(room.messages[1].values.empty());
}

TEST_CASE("Rules of the dwell rest once the floor is laid; who heard of an alert hears its end") {
  LaidRoom room;
  AirReading reading;
  reading.room_id = "kitchen";
  reading.longest_interval = std::chrono::minutes(45);
  reading.temperature = Celsius{10};
  reading.rh = RelativeHumidity{0.5};
  const auto step = [&](int steps, bool laid) {
    for (int i = 0; i < steps; ++i, room.now = room.now + 5 * kMinute) {
      reading.at = room.now;
      reading.laid = laid;
      room.keep(step_air_alerts(room.alerts, room.settings, reading));
      RoomObservation seen;
      seen.room_id = "kitchen";
      seen.laid = laid;
      room.keep(step_room_alerts(room.alerts, room.settings, seen, room.now));
    }
  };
  step(6, false);
  REQUIRE(room.told == Told{"fired out_of_band"});
  step(1, true);
  REQUIRE(room.told == Told{"fired out_of_band", "cleared out_of_band"});
  CHECK(room.messages[1].text ==
        "kitchen: the floor is laid; the hours before it no longer matter");
  reading.dwell_was_reset = true;
  step(50, true);
  CHECK(room.told.size() == 2);
  // Laying began anew: they watch again.
  step(10, false);
  CHECK(room.told.size() > 2);
}
