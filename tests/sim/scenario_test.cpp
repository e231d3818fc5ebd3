#include "firmware-sim/sim/scenario.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <vector>

#include "firmware-sim/sim/simulation_run.hpp"

using namespace firmware::sim;
using analysis::base::micros_from_hours;
using analysis::base::UtcMicros;

namespace {

std::unique_ptr<SimulationRun> free_run(const std::string& name, std::uint64_t seed) {
  RunSettings settings;
  settings.scenario = scenario_from_name(name).value();
  settings.scenario.seed = seed;
  settings.pace = Pace::free;
  settings.boxes = {BoxOnLine{}};
  auto run = SimulationRun::create(settings);
  REQUIRE(run.has_value());
  return std::move(run).value();
}

// The truth every minute from start to end.
std::vector<site::SiteState> minutes_of(SimulationRun& run) {
  std::vector<site::SiteState> states;
  for (UtcMicros at = run.utc_start(); at <= run.utc_end(); at = at + micros_from_hours(1.0 / 60)) {
    run.at(at, [&] { states.push_back(run.site_state()); });
  }
  run.run();
  return states;
}

double hours_of(const site::SiteState& state, const SimulationRun& run) {
  return analysis::base::hours_from(state.at - run.utc_start());
}

bool in_band(const site::SiteState& state) {
  return state.air_temperature.value() >= 17.0 && state.air_temperature.value() <= 23.0 &&
         state.air_rh.value() >= 0.45 && state.air_rh.value() <= 0.60;
}

}  // namespace

TEST_CASE("ScenariosAreFoundByName") {
  for (const std::string& name : scenario_names()) {
    CHECK(scenario_from_name(name)->name == name);
  }
  CHECK_FALSE(scenario_from_name("heater").has_value());
  CHECK(rfc3339_from_utc(scenario_from_name("heater-failure")->start) == "2026-03-02T07:00:00Z");
}

TEST_CASE("HeaterFailureIsTheSiteItClaimsToBe") {
  for (const std::uint64_t seed : {1, 2, 3}) {
    CAPTURE(seed);
    const auto run = free_run("heater-failure", seed);
    const auto states = minutes_of(*run);
    REQUIRE(states.size() == 6 * 24 * 60 + 1);

    double first_out = 1e9;
    double last_out = 0.0;
    double cold_hours = 0.0;
    double slab_sum = 0.0;
    double slab_dry_day = 0.0;
    for (std::size_t i = 0; i < states.size(); ++i) {
      const double hours = hours_of(states[i], *run);
      if (!in_band(states[i])) {
        first_out = std::min(first_out, hours);
        last_out = std::max(last_out, hours);
      }
      cold_hours += states[i].air_temperature.value() < 17.0 ? 1.0 / 60.0 : 0.0;
      slab_sum += states[i].slab_rh.value() - (i >= 1440 ? states[i - 1440].slab_rh.value() : 0.0);
      if (i >= 1440 && slab_dry_day == 0.0 && slab_sum / 1440.0 < 0.75) {
        slab_dry_day = hours / 24.0;
      }
    }
    CHECK(first_out > 38.0);
    CHECK(last_out < 46.0);
    CHECK(cold_hours > 2.0);
    CHECK(slab_dry_day > 4.5);
    CHECK(slab_dry_day < 5.2);
    CHECK(states[90].core_temperature.value() < 5.0);   // delivered cold an hour after the start
    CHECK(states[59].core_temperature.value() > 19.0);  // a probe in the room before
    CHECK(std::abs(states.back().core_temperature.value() - states.back().air_temperature.value()) <
          1.0);
    CHECK(states.back().condensation_margin.value() > 3.0);
  }
}

TEST_CASE("SameSeedGivesTheSameSiteAndTheSameRecords") {
  const auto first = free_run("quick", 7);
  const auto second = free_run("quick", 7);
  const auto other = free_run("quick", 8);
  for (const auto& run : {first.get(), second.get(), other.get()}) {
    run->run();
  }
  CHECK(first->box(0).memory().bytes() == second->box(0).memory().bytes());
  CHECK(first->box(0).memory().bytes() != other->box(0).memory().bytes());
  CHECK(first->box(0).firmware().held() > 170);
}

TEST_CASE("TruthDoesNotDependOnWhenItIsAsked") {
  const auto scenario = scenario_from_name("quick").value();
  site::SiteTruth often{scenario.site, scenario.start, 5};
  site::SiteTruth seldom{scenario.site, scenario.start, 5};
  const UtcMicros end = scenario.start + micros_from_hours(2.0) + analysis::base::Micros{7'123'456};
  for (UtcMicros at = scenario.start; at < end; at = at + analysis::base::Micros{1'777'777}) {
    often.advance_to(at);
  }
  often.advance_to(end);
  seldom.advance_to(end);
  CHECK(often.state_at(end).air_temperature == seldom.state_at(end).air_temperature);
  CHECK(often.state_at(end).slab_rh == seldom.state_at(end).slab_rh);
}
