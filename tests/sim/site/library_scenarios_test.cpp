// The library's scenarios, played with one box: is each the site that it claims to be?
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <memory>
#include <string>
#include <vector>

#include "firmware-sim/sim/scenario.hpp"
#include "firmware-sim/sim/simulation_run.hpp"

using namespace firmware::sim;
using analysis::base::micros_from_hours;
using analysis::base::UtcMicros;

namespace {

constexpr std::size_t kAirCelsius = 0;
constexpr std::size_t kAirPercentRh = 1;

class Played {
 public:
  explicit Played(const std::string& name) {
    RunSettings settings;
    settings.scenario = scenario_from_name(name).value();
    settings.pace = Pace::free;
    settings.boxes = {BoxOnLine{}};
    auto made = SimulationRun::create(settings);
    REQUIRE(made.has_value());
    run_ = std::move(made).value();
    for (UtcMicros at = run_->utc_start(); at <= run_->utc_end();
         at = at + micros_from_hours(1.0)) {
      run_->at(at, [this] { hours_.push_back(run_->site_state()); });
    }
    run_->run();
    REQUIRE(run_->box(0).taken().size() > 24 * 60);
  }

  // The truth of the room.
  [[nodiscard]] const site::SiteState& room(std::size_t hour) const { return hours_.at(hour); }
  // What the box recorded that minute, in deg C or %RH.
  [[nodiscard]] double recorded(std::size_t channel, double hour) const {
    const auto minute = static_cast<std::size_t>(hour * 60.0);
    return run_->box(0).taken().at(minute).sample.raw_counts.at(channel) / 100.0;
  }

 private:
  std::unique_ptr<SimulationRun> run_;
  std::vector<site::SiteState> hours_;
};

bool in_band(const site::SiteState& state) {
  return state.air_temperature.value() >= 17.0 && state.air_temperature.value() <= 23.0 &&
         state.air_rh.value() >= 0.45 && state.air_rh.value() <= 0.60;
}

std::size_t hours_in_band(const Played& played, std::size_t from, std::size_t to) {
  std::size_t count = 0;
  for (std::size_t hour = from; hour < to; ++hour) {
    count += in_band(played.room(hour)) ? 1 : 0;
  }
  return count;
}

}  // namespace

TEST_CASE("WinterHeaterFailureCoolsTheRoomAndLetsItsRhRise") {
  const Played played("winter-heater-failure");
  CHECK(hours_in_band(played, 2, 83) == 81);
  const double before_celsius = played.room(82).air_temperature.value();
  const double hour_later = played.room(83).air_temperature.value();
  const double coldest = played.room(95).air_temperature.value();
  CAPTURE(before_celsius, hour_later, coldest);
  CHECK(before_celsius - hour_later > 2.0);
  CHECK(before_celsius - hour_later < 4.0);
  CHECK(before_celsius - coldest > 5.0);
  CHECK(before_celsius - coldest < 8.0);
  CHECK(played.room(84).air_rh.value() > played.room(82).air_rh.value() + 0.03);
  CHECK(played.room(108).air_temperature.value() > 18.0);
  CHECK(played.room(95).core_temperature.value() > coldest);
}

TEST_CASE("SpringDampIsTooDamp") {
  const Played played("spring-damp");
  CHECK(hours_in_band(played, 24, 168) < 70);
  CHECK(played.room(34).air_rh.value() > 0.70);
  CHECK(played.room(34).air_rh.value() > played.room(25).air_rh.value() + 0.05);
}

TEST_CASE("WetSlabStaysWetInARoomThatIsInOrder") {
  const Played played("wet-slab");
  CHECK(hours_in_band(played, 24, 336) == 312);
  CHECK(played.room(0).slab_rh.value() == Approx(0.93).margin(0.002));
  CHECK(played.room(336).slab_rh.value() > 0.87);
  CHECK(played.room(336).slab_rh.value() < played.room(168).slab_rh.value() - 0.01);
}

TEST_CASE("SummerCoolingOffLetsAWeekendGetHot") {
  const Played played("summer-cooling-off");
  double hottest = 0.0;
  for (std::size_t hour = 60; hour < 121; ++hour) {
    hottest = std::max(hottest, played.room(hour).air_temperature.value());
  }
  CHECK(hottest > 26.0);
  CHECK(hottest < 34.0);
  CHECK(played.room(59).air_temperature.value() < 23.0);
  CHECK(played.room(125).air_temperature.value() < 23.0);
  // The air conditioner dries only while it cools.
  CHECK(played.room(120).air_rh.value() > played.room(125).air_rh.value());
}

TEST_CASE("BoxMovedShowsTheOtherRoomWhileItIsThere") {
  const Played played("box-moved");
  CHECK(std::abs(played.recorded(kAirCelsius, 49.0) - played.room(49).air_temperature.value()) <
        1.0);
  CHECK(played.recorded(kAirCelsius, 54.0) > played.room(54).air_temperature.value() + 1.0);
  CHECK(played.recorded(kAirPercentRh, 54.0) < 100.0 * played.room(54).air_rh.value() - 8.0);
  CHECK(std::abs(played.recorded(kAirCelsius, 60.0) - played.room(60).air_temperature.value()) <
        1.0);
  CHECK(in_band(played.room(54)));
}

TEST_CASE("BreathShowsInAFewSamplesOnlyAndNotInTheRoom") {
  const Played played("breathed-on");
  for (const double hour : {26.0, 26.0 + 10.0 / 60.0, 33.5}) {
    CAPTURE(hour);
    double most = 0.0;
    for (int minute = 0; minute < 3; ++minute) {
      most = std::max(most, played.recorded(kAirPercentRh, hour + minute / 60.0 + 0.001));
    }
    CHECK(most > 65.0);
    CHECK(played.recorded(kAirPercentRh, hour - 2.0 / 60.0) < 58.0);
    CHECK(played.recorded(kAirPercentRh, hour + 6.0 / 60.0) < 58.0);
  }
  CHECK(hours_in_band(played, 2, 48) == 46);
}

TEST_CASE("BoxInVanComesBackColdAndReadsDamp") {
  const Played played("box-in-van");
  CHECK(played.recorded(kAirCelsius, 46.0) < 8.0);
  double dampest = 0.0;
  for (int minute = 0; minute < 5; ++minute) {
    dampest = std::max(dampest, played.recorded(kAirPercentRh, 54.0 + minute / 60.0));
  }
  CHECK(dampest > 100.0 * played.room(54).air_rh.value());
  CHECK(std::abs(played.recorded(kAirCelsius, 56.0) - played.room(56).air_temperature.value()) <
        1.0);
  CHECK(hours_in_band(played, 2, 96) == 94);
}
