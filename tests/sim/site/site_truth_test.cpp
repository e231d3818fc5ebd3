#include "firmware-sim/sim/site/site_truth.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <random>
#include <string_view>

#include "firmware-sim/sim/physics/moist_air.hpp"
#include "firmware-sim/sim/site/site_library.hpp"

using namespace firmware::sim;
using namespace firmware::sim::site;
using analysis::base::Celsius;
using analysis::base::Kilograms;
using analysis::base::micros_from_hours;
using analysis::base::RelativeHumidity;
using analysis::base::UtcMicros;

namespace {

constexpr UtcMicros kStart{1'772'434'800'000'000};  // 2026-03-02T07:00:00Z

UtcMicros after(double hours) { return kStart + micros_from_hours(hours); }

SiteTruth site_of(std::string_view name, std::uint64_t seed) {
  return {site_from_name(name).value(), kStart, seed};
}

// A fortnight in which everything happens that can.
void live_two_weeks(SiteTruth& site) {
  for (int day = 0; day < 14; ++day) {
    RoomControls& controls = site.controls();
    controls.people = day % 3 == 0 ? 2.0 : 0.0;
    controls.windows_open = day == 4;
    controls.heater_on = day != 6;
    controls.cooling_on = day != 8;
    controls.dryer_on = day < 10;
    if (day == 2 || day == 9) {
      site.start_wet_trade(Kilograms{8.0}, micros_from_hours(30.0));
    }
    site.advance_to(after(24.0 * (day + 1)));
  }
}

double water_kg(const SiteTruth& site, const SiteParameters& parameters) {
  return site.room().stored_water_kg() + site.slab().water_kg_per_m2() * parameters.room.floor_m2 +
         site.wet_trade_kg();
}

double heat_j(const SiteTruth& site) {
  return site.room().stored_heat_j() + site.stack().stored_heat_j();
}

// What came in from outside the site. Cartons, slab and wet trades are within.
double heat_in_j(const SiteTruth& site) {
  const HeatLedger& heat = site.room().heat();
  return heat.heater_j + heat.cooling_j + heat.people_j + heat.gain_j + heat.dryer_j +
         heat.latent_j + heat.outdoors_j + heat.ground_j;
}

double water_in_kg(const SiteTruth& site) {
  const WaterLedger& water = site.room().water();
  return water.heater_kg + water.cooling_kg + water.people_kg + water.gain_kg +
         water.humidifier_kg + water.dryer_kg + water.outdoors_kg + water.run_off_kg;
}

// Without chance, so that two runs differ by their steps alone.
SiteParameters calm(std::string_view name, double step_s) {
  SiteParameters site = site_from_name(name).value();
  site.weather.wander_k = 0.0;
  site.weather.wander_rh_fraction = 0.0;
  site.gains.cloud_share = 0.0;
  site.step_s = step_s;
  return site;
}

}  // namespace

TEST_CASE("WaterAndHeatOfTheWholeSiteCloseOverTwoWeeks") {
  for (const std::string_view name : {"late-winter", "summer-cooled", "fuel-heated"}) {
    CAPTURE(name);
    const SiteParameters parameters = site_from_name(name).value();
    SiteTruth site{parameters, kStart, 1};
    site.advance_to(after(1.0));
    site.deliver_cartons(Celsius{5.0});
    const double before_j = heat_j(site) - heat_in_j(site);
    const double before_kg = water_kg(site, parameters) - water_in_kg(site);
    live_two_weeks(site);
    REQUIRE(std::abs(site.room().heat().stack_j) > 1e6);
    REQUIRE(site.room().water().wet_trade_kg > 5.0);
    REQUIRE(std::abs(site.room().water().slab_kg) > 0.1);
    CHECK(std::abs(heat_j(site) - heat_in_j(site) - before_j) < 1.0);
    // Two wet trades brought 8 kg each.
    CHECK(std::abs(water_kg(site, parameters) - water_in_kg(site) - before_kg - 16.0) < 1e-8);
  }
}

TEST_CASE("SameSeedGivesTheSameSiteToTheLastBit") {
  SiteTruth first = site_of("summer-cooled", 7);
  SiteTruth second = site_of("summer-cooled", 7);
  SiteTruth other = site_of("summer-cooled", 8);
  for (SiteTruth* site : {&first, &second, &other}) {
    site->start_wet_trade(Kilograms{5.0}, micros_from_hours(10.0));
    site->deliver_cartons();
    site->advance_to(after(48.0));
  }
  const SiteState a = first.state_at(after(48.0));
  const SiteState b = second.state_at(after(48.0));
  CHECK(a.air_temperature == b.air_temperature);
  CHECK(a.air_rh == b.air_rh);
  CHECK(a.core_temperature == b.core_temperature);
  CHECK(a.slab_rh == b.slab_rh);
  CHECK(first.state_at(after(48.0), BoxPlace::van).air_rh ==
        second.state_at(after(48.0), BoxPlace::van).air_rh);
  CHECK(a.air_temperature != other.state_at(after(48.0)).air_temperature);
}

TEST_CASE("HalfTheStepChangesTheTruthByLessThanTheStatedAmount") {
  for (const std::string_view name : {"late-winter", "summer-cooled", "fuel-heated"}) {
    CAPTURE(name);
    SiteTruth usual{calm(name, 30.0), kStart, 1};
    SiteTruth half{calm(name, 15.0), kStart, 1};
    double air_k = 0.0;
    double rh = 0.0;
    double core_k = 0.0;
    double slab_rh = 0.0;
    for (int hour = 1; hour <= 3 * 24; ++hour) {
      for (SiteTruth* site : {&usual, &half}) {
        if (hour == 2) {
          site->deliver_cartons();
        }
        site->controls().heater_on = hour < 40 || hour > 50;
        site->controls().cooling_on = hour < 40 || hour > 60;
        site->advance_to(after(hour));
      }
      const SiteState a = usual.state_at(after(hour));
      const SiteState b = half.state_at(after(hour));
      const auto widen = [](double& most, auto x, auto y) {
        most = std::max(most, std::abs(x.value() - y.value()));
      };
      widen(air_k, a.air_temperature, b.air_temperature);
      widen(rh, a.air_rh, b.air_rh);
      widen(core_k, a.core_temperature, b.core_temperature);
      widen(slab_rh, a.slab_rh, b.slab_rh);
    }
    CAPTURE(air_k, rh, core_k, slab_rh);
    CHECK(air_k < 0.005);
    CHECK(rh < 1e-3);
    CHECK(core_k < 0.005);
    CHECK(slab_rh < 5e-6);
    CHECK(air_k > 0.0);
  }
}

TEST_CASE("RhJumpsWhenHeatedAirCoolsAndNothingDriesIt") {
  SiteTruth site = site_of("late-winter", 1);
  site.controls().dryer_on = false;
  site.advance_to(after(12.0));
  const SiteState before = site.state_at(after(12.0));
  site.controls().heater_on = false;
  site.advance_to(after(14.0));
  const SiteState later = site.state_at(after(14.0));
  CHECK(later.air_temperature.value() < before.air_temperature.value() - 2.0);
  CHECK(later.air_rh.value() > before.air_rh.value() + 0.03);
  CHECK(later.condensation_margin.value() > before.condensation_margin.value() - 1.0);
}

TEST_CASE("WetTradeDriesInProportionToTheDrynessOfTheAir") {
  SiteParameters parameters;
  parameters.room.start_rh_fraction = 0.5;
  parameters.room.humidifier.rh_fraction = 0.5;
  parameters.room.dryer.rh_fraction = 0.5;
  parameters.room.dryer.max_kg_per_h = 3.0;
  SiteTruth site{parameters, kStart, 1};
  site.start_wet_trade(Kilograms{4.0}, micros_from_hours(20.0));
  CHECK(site.wet_trade_kg() == 4.0);
  site.advance_to(after(10.0));
  CHECK(site.wet_trade_kg() == Approx(2.0).margin(0.1));
  site.advance_to(after(24.0));
  CHECK(site.wet_trade_kg() == 0.0);
  CHECK(site.room().water().wet_trade_kg == Approx(4.0));
}

TEST_CASE("WetTradeDriesSlowlyInDampAir") {
  SiteParameters parameters;
  parameters.room.start_rh_fraction = 0.8;
  parameters.room.humidifier.rh_fraction = 0.8;
  parameters.room.humidifier.max_kg_per_h = 3.0;
  parameters.room.dryer.max_kg_per_h = 0.0;
  SiteTruth site{parameters, kStart, 1};
  site.start_wet_trade(Kilograms{4.0}, micros_from_hours(20.0));
  site.advance_to(after(5.0));
  const double rh = site.state_at(after(5.0)).air_rh.value();
  REQUIRE(rh > 0.75);
  CHECK(4.0 - site.wet_trade_kg() == Approx(5.0 * 4.0 / 20.0 * (1.0 - rh) / 0.5).epsilon(0.1));
}

TEST_CASE("PeopleWindowsAndThermostatShowInTheRoom") {
  SiteTruth quiet = site_of("spring-damp", 3);
  SiteTruth busy = site_of("spring-damp", 3);
  SiteTruth aired = site_of("spring-damp", 3);
  SiteTruth warm = site_of("spring-damp", 3);
  busy.controls().people = 1.0;
  aired.controls().windows_open = true;
  warm.controls().thermostat = Celsius{22.0};
  for (SiteTruth* site : {&quiet, &busy, &aired, &warm}) {
    site->advance_to(after(6.0));
  }
  const SiteState state = quiet.state_at(after(6.0));
  CHECK(busy.state_at(after(6.0)).air_rh.value() > state.air_rh.value() + 0.03);
  CHECK(aired.state_at(after(6.0)).air_temperature.value() < state.air_temperature.value() - 0.3);
  CHECK(warm.state_at(after(6.0)).air_temperature.value() > state.air_temperature.value() + 2.5);
}

TEST_CASE("CartonsAreDeliveredAtTheirOwnTemperature") {
  SiteTruth site = site_of("late-winter", 1);
  const UtcMicros at = after(1.0) + analysis::base::Micros{7'000'000};  // between two grid points
  site.advance_to(at);
  CHECK(site.state_at(at).core_temperature == site.state_at(at).air_temperature);
  site.deliver_cartons(Celsius{-3.0});
  CHECK(site.state_at(at).core_temperature == Celsius{-3.0});
}

TEST_CASE("AnySiteWithinTheRangesStaysWithinNature") {
  constexpr std::uint64_t kSeed = 20260302;
  CAPTURE(kSeed);
  std::mt19937_64 engine{kSeed};
  int tried = 0;
  for (int i = 0; i < 200; ++i) {
    CAPTURE(i);
    SiteParameters parameters;
    for (const ParameterRange& range : site_parameter_ranges()) {
      const double share = static_cast<double>(engine() % 5) / 4.0;  // the ends come often
      REQUIRE(
          set_site_parameter(parameters, range.key, range.low + share * (range.high - range.low))
              .has_value());
    }
    parameters.step_s = 120.0;
    if (!check_site(parameters)) {
      continue;
    }
    ++tried;
    SiteTruth site{parameters, kStart, engine()};
    site.deliver_cartons();
    site.controls().people = 3.0;
    site.controls().windows_open = i % 2 == 0;
    for (int hour = 1; hour <= 12; ++hour) {
      site.advance_to(after(hour));
      for (std::size_t place = 0; place < kBoxPlaces; ++place) {
        const SiteState state = site.state_at(after(hour), static_cast<BoxPlace>(place));
        CAPTURE(hour, place, state.air_temperature.value(), state.air_rh.value());
        REQUIRE(std::isfinite(state.air_temperature.value()));
        REQUIRE(state.air_temperature.value() > -90.0);
        REQUIRE(state.air_rh.value() >= 0.0);
        REQUIRE(state.air_rh.value() <= 1.0 + 1e-9);
        REQUIRE(state.slab_rh.value() > 0.0);
        REQUIRE(state.slab_rh.value() <= 1.0 + 1e-9);
        REQUIRE(std::isfinite(state.core_temperature.value()));
        REQUIRE(std::isfinite(state.condensation_margin.value()));
      }
    }
  }
  CHECK(tried > 10);
}
