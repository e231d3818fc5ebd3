#include "firmware-sim/sim/site/room/room_truth.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "firmware-sim/sim/physics/moist_air.hpp"

using namespace firmware::sim;
using namespace firmware::sim::site;
using analysis::base::Celsius;
using analysis::base::RelativeHumidity;

namespace {

constexpr double kStepS = 30.0;

// Forcing that keeps changing, so that no term of a balance stays zero.
RoomForcing restless_forcing(int step) {
  RoomForcing forcing;
  const double phase = 0.01 * step;
  forcing.outdoor_temperature = Celsius{3.0 + 8.0 * std::sin(phase)};
  forcing.outdoor_rh = RelativeHumidity{0.8 + 0.15 * std::cos(phase)};
  forcing.controls.heater_on = step % 700 < 500;
  forcing.gain_w = 300.0;
  forcing.gain_kg_per_s = 2e-4;  // wet enough for dryer and condensation
  forcing.to_stack_w = 80.0;
  forcing.slab_vapour_kg_per_s = 1e-5;
  return forcing;
}

}  // namespace

TEST_CASE("HeatBalanceCloses") {
  RoomTruth room{RoomParameters{}};
  const double before_j = room.stored_heat_j();
  for (int step = 0; step < 5000; ++step) {
    room.advance(kStepS, restless_forcing(step));
  }
  const HeatLedger& ledger = room.heat();
  const double in_j = ledger.heater_j + ledger.gain_j + ledger.outdoors_j + ledger.ground_j +
                      ledger.stack_j + ledger.dryer_j + ledger.latent_j;
  REQUIRE(ledger.heater_j > 1e7);
  REQUIRE(ledger.outdoors_j < -1e7);
  CHECK(ledger.gain_j == Approx(300.0 * 5000 * kStepS));
  CHECK(ledger.stack_j == Approx(-80.0 * 5000 * kStepS));
  CHECK(std::abs(room.stored_heat_j() - before_j - in_j) < 1e-9 * ledger.heater_j);
}

TEST_CASE("MoistureBalanceCloses") {
  RoomTruth room{RoomParameters{}};
  const double before_kg = room.stored_water_kg();
  for (int step = 0; step < 5000; ++step) {
    room.advance(kStepS, restless_forcing(step));
  }
  const WaterLedger& ledger = room.water();
  const double in_kg = ledger.gain_kg + ledger.slab_kg + ledger.outdoors_kg + ledger.humidifier_kg +
                       ledger.dryer_kg + ledger.run_off_kg;
  REQUIRE(ledger.dryer_kg < -1.0);
  REQUIRE(room.pane_film().value() > 0.1);
  CHECK(ledger.slab_kg == Approx(1e-5 * 5000 * kStepS));
  CHECK(std::abs(room.stored_water_kg() - before_kg - in_kg) < 1e-10);
}

TEST_CASE("HumidifierMakesUpForDryOutdoorAir") {
  RoomTruth room{RoomParameters{}};
  RoomForcing forcing;
  forcing.outdoor_temperature = Celsius{-5.0};
  forcing.outdoor_rh = RelativeHumidity{0.8};
  for (int step = 0; step < 2880; ++step) {
    room.advance(kStepS, forcing);
  }
  CHECK(room.water().humidifier_kg > 0.5);
  CHECK(room.air_rh().value() > 0.48);
}

TEST_CASE("SteadyTemperatureIsThatOfTheHandCalculation") {
  RoomParameters parameters;
  parameters.wall_to_outdoors_w_per_k = 0.0;
  parameters.humidifier.max_kg_per_h = 0.0;
  parameters.slab_to_ground_w_per_m2k = 0.0;
  RoomTruth room{parameters};
  RoomForcing forcing;
  forcing.outdoor_temperature = Celsius{2.0};
  forcing.outdoor_rh = RelativeHumidity{0.8};
  for (int step = 0; step < 100000; ++step) {
    room.advance(kStepS, forcing);
  }
  // Heater 1500 W per K below 20.9; loss 42 W/K and 50 m3 changed 0.35 times an hour at 1206 J/m3K.
  const double loss_w_per_k = 42.0 + 50.0 * 0.35 / 3600.0 * 1206.0;
  const double expected = (1500.0 * 20.9 + loss_w_per_k * 2.0) / (1500.0 + loss_w_per_k);
  CHECK(room.air_temperature().value() == Approx(expected).margin(1e-3));
  CHECK(room.slab_surface_temperature().value() == Approx(expected).margin(1e-3));
}

TEST_CASE("SteadyVapourIsThatOfTheHandCalculation") {
  RoomParameters parameters;
  parameters.humidifier.max_kg_per_h = 0.0;
  parameters.dryer.max_kg_per_h = 0.0;
  RoomTruth room{parameters};
  RoomForcing forcing;
  forcing.outdoor_temperature = Celsius{5.0};
  forcing.outdoor_rh = RelativeHumidity{0.7};
  forcing.slab_vapour_kg_per_s = 1e-5;
  for (int step = 0; step < 40000; ++step) {
    room.advance(kStepS, forcing);
  }
  const double air_m3_per_s = 50.0 * 0.35 / 3600.0;
  const double outdoors = physics::vapour_density(Celsius{5.0}, RelativeHumidity{0.7}).value();
  CHECK(room.air_vapour().value() == Approx(outdoors + 1e-5 / air_m3_per_s).epsilon(1e-6));
}
