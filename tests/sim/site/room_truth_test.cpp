#include "firmware-sim/sim/site/room/room_truth.hpp"

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>

#include "firmware-sim/sim/physics/moist_air.hpp"
#include "firmware-sim/sim/physics/vapour_step.hpp"

using namespace firmware::sim;
using namespace firmware::sim::site;
using analysis::base::Celsius;
using analysis::base::RelativeHumidity;

namespace {

constexpr double kStepS = 30.0;
constexpr int kStepsAnHour = 120;
constexpr double kAirJPerM3K = 1206.0;  // 1.2 kg/m3 and 1005 J/(kg K)

double saturated(double celsius) {
  return physics::vapour_density(Celsius{celsius}, RelativeHumidity{1.0}).value();
}

// 50 m3 with nothing running and nothing that takes up water.
RoomParameters bare_room() {
  RoomParameters room;
  room.heater.max_w = 0.0;
  room.humidifier.max_kg_per_h = 0.0;
  room.dryer.max_kg_per_h = 0.0;
  room.buffer.area_m2 = 0.0;
  return room;
}

RoomForcing outdoors(double celsius, double rh) {
  RoomForcing forcing;
  forcing.outdoor_temperature = Celsius{celsius};
  forcing.outdoor_rh = RelativeHumidity{rh};
  return forcing;
}

void advance_hours(RoomTruth& room, const RoomForcing& forcing, double hours) {
  for (int step = 0; step < static_cast<int>(hours * kStepsAnHour); ++step) {
    room.advance(kStepS, forcing);
  }
}

// Conductances of the default room to what surrounds it, W/K, by hand: panes 4 m2 of U 2.0, frames
// 34, walls 190 and 9 one after the other; floor film 130, slab 500 and ground 7 one after another.
constexpr double kPanes = 8.0;
constexpr double kFrames = 34.0;
constexpr double kWalls = 190.0 * 9.0 / (190.0 + 9.0);
constexpr double kGround = 1.0 / (1.0 / 130.0 + 1.0 / 500.0 + 1.0 / 7.0);
double air_w_per_k(double changes_per_h) { return 50.0 * changes_per_h / 3600.0 * kAirJPerM3K; }

// Forcing that keeps changing, so that no term of a balance stays zero.
RoomForcing restless_forcing(int step) {
  const double phase = 0.01 * step;
  RoomForcing forcing = outdoors(6.0 + 22.0 * std::sin(phase), 0.8 + 0.15 * std::cos(phase));
  forcing.controls.cooling_set_point = Celsius{20.0};
  forcing.controls.heater_on = step % 700 < 500;
  forcing.controls.windows_open = step % 900 > 850;
  forcing.controls.people = step % 400 < 100 ? 2.0 : 0.0;
  forcing.gain_w = 300.0;
  forcing.gain_kg_per_s = 1e-4;
  forcing.to_stack_w = 80.0;
  forcing.slab_vapour_kg_per_s = 1e-5;
  forcing.wet_trade_kg_per_s = step % 1000 < 300 ? 2e-4 : 0.0;
  return forcing;
}

// A room in which everything runs at some time.
RoomParameters full_room() {
  RoomParameters room;
  room.heater.water_kg_per_kwh = 0.127;
  room.cooling.flow_m3_per_s = 0.2;
  room.pane.most_film_kg_per_m2 = 0.01;
  return room;
}

}  // namespace

TEST_CASE("HeatBalanceCloses") {
  RoomTruth room{full_room()};
  const double before_j = room.stored_heat_j();
  for (int step = 0; step < 20000; ++step) {
    room.advance(kStepS, restless_forcing(step));
  }
  const HeatLedger& heat = room.heat();
  CHECK(heat.heater_j > 1e7);
  CHECK(heat.cooling_j < -1e7);
  CHECK(heat.people_j > 1e6);
  CHECK(heat.dryer_j > 1e5);
  CHECK(std::abs(heat.latent_j) > 1e6);
  CHECK(heat.outdoors_j < -1e7);
  CHECK(heat.ground_j < -1e6);
  CHECK(heat.gain_j == Approx(300.0 * 20000 * kStepS));
  CHECK(heat.stack_j == Approx(-80.0 * 20000 * kStepS));
  const double in_j = heat.heater_j + heat.cooling_j + heat.people_j + heat.gain_j + heat.dryer_j +
                      heat.latent_j + heat.outdoors_j + heat.ground_j + heat.stack_j;
  CHECK(std::abs(room.stored_heat_j() - before_j - in_j) < 1e-9 * heat.heater_j);
}

TEST_CASE("WaterBalanceCloses") {
  RoomTruth room{full_room()};
  const double before_kg = room.stored_water_kg();
  for (int step = 0; step < 20000; ++step) {
    room.advance(kStepS, restless_forcing(step));
  }
  const WaterLedger& water = room.water();
  CHECK(water.heater_kg > 1.0);
  CHECK(water.cooling_kg < -1.0);
  CHECK(water.people_kg > 1.0);
  CHECK(water.humidifier_kg > 1e-4);
  CHECK(water.dryer_kg < -1.0);
  CHECK(water.run_off_kg < -0.001);
  CHECK(water.outdoors_kg < -1.0);
  CHECK(water.slab_kg == Approx(1e-5 * 20000 * kStepS));
  CHECK(water.wet_trade_kg == Approx(2e-4 * 6000 * kStepS));
  const double in_kg = water.heater_kg + water.cooling_kg + water.people_kg + water.gain_kg +
                       water.humidifier_kg + water.dryer_kg + water.slab_kg + water.wet_trade_kg +
                       water.outdoors_kg + water.run_off_kg;
  CHECK(std::abs(room.stored_water_kg() - before_kg - in_kg) < 1e-10);
}

TEST_CASE("HumidifierMakesUpForDryOutdoorAir") {
  RoomTruth room{RoomParameters{}};
  advance_hours(room, outdoors(-5.0, 0.8), 24.0);
  CHECK(room.water().humidifier_kg > 0.5);
  CHECK(room.air_rh().value() > 0.48);
}

TEST_CASE("SteadyHeatOfAnUnheatedRoomIsThatOfTheHandCalculation") {
  RoomParameters parameters = bare_room();
  parameters.person.vapour_kg_per_h = 0.0;  // 0.4 kg/h would saturate the room
  RoomTruth room{parameters};
  RoomForcing forcing = outdoors(2.0, 0.3);
  forcing.controls.people = 2.0;  // 160 W
  forcing.gain_w = 500.0;
  advance_hours(room, forcing, 24.0 * 60);
  const double to_outdoors = kPanes + kFrames + kWalls + air_w_per_k(0.35);
  const double air = (to_outdoors * 2.0 + kGround * 11.0 + 660.0) / (to_outdoors + kGround);
  CHECK(room.air_temperature().value() == Approx(air).margin(1e-4));
  CHECK(room.wall_temperature().value() ==
        Approx(2.0 + (air - 2.0) * 190.0 / (190.0 + 9.0)).margin(1e-4));
  CHECK(room.slab_surface_temperature().value() ==
        Approx(air - (air - 11.0) * kGround / 130.0).margin(1e-4));
  CHECK(room.pane_temperature().value() == Approx(air - (air - 2.0) * 2.0 / 7.7).margin(1e-4));
}

TEST_CASE("SteadyHeatUnderAThermostatIsThatOfTheHandCalculation") {
  RoomParameters parameters = bare_room();
  parameters.heater.max_w = 3000.0;
  RoomTruth room{parameters};
  RoomForcing forcing = outdoors(2.0, 0.8);
  forcing.controls.thermostat = Celsius{22.0};
  advance_hours(room, forcing, 24.0 * 60);
  // 1500 W for each K below the thermostat.
  const double to_outdoors = kPanes + kFrames + kWalls + air_w_per_k(0.35);
  const double air =
      (1500.0 * 22.0 + to_outdoors * 2.0 + kGround * 11.0) / (1500.0 + to_outdoors + kGround);
  CHECK(room.air_temperature().value() == Approx(air).margin(1e-4));
}

TEST_CASE("SteadyVapourIsThatOfTheHandCalculation") {
  RoomTruth room{bare_room()};
  RoomForcing forcing = outdoors(15.0, 0.5);
  forcing.slab_vapour_kg_per_s = 1e-5;
  advance_hours(room, forcing, 300.0);
  const double air_m3_per_s = 50.0 * 0.35 / 3600.0;
  CHECK(room.air_vapour().value() ==
        Approx(0.5 * saturated(15.0) + 1e-5 / air_m3_per_s).epsilon(1e-9));
}

TEST_CASE("SteadyCoolingIsThatOfTheHandCalculation") {
  RoomParameters parameters = bare_room();
  parameters.cooling.flow_m3_per_s = 0.01;  // too little: runs all the time
  parameters.cooling.set_point_celsius = 15.0;
  parameters.cooling.contact_fraction = 0.8;
  RoomTruth room{parameters};
  RoomForcing forcing = outdoors(30.0, 0.6);
  forcing.controls = controls_at_start(parameters);
  advance_hours(room, forcing, 24.0 * 60);
  const double coil_m3_per_s = 0.01 * 0.8;
  const double to_outdoors = kPanes + kFrames + kWalls + air_w_per_k(0.35);
  const double coil = coil_m3_per_s * kAirJPerM3K;
  const double air =
      (to_outdoors * 30.0 + kGround * 11.0 + coil * 9.0) / (to_outdoors + kGround + coil);
  REQUIRE(air > 16.0);
  CHECK(room.air_temperature().value() == Approx(air).margin(1e-3));
  // What comes in through the gaps leaves as air or as drained water; no surface is colder than
  // the dew point, 20.4 deg C outdoors.
  REQUIRE(room.slab_surface_temperature().value() > 21.0);
  const double in_m3_per_s = 50.0 * 0.35 / 3600.0;
  const double vapour = (in_m3_per_s * 0.6 * saturated(30.0) + coil_m3_per_s * saturated(9.0)) /
                        (in_m3_per_s + coil_m3_per_s);
  CHECK(room.air_vapour().value() == Approx(vapour).epsilon(1e-6));
  const double before_kg = room.water().cooling_kg;
  advance_hours(room, forcing, 1.0);
  CHECK(before_kg - room.water().cooling_kg ==
        Approx(3600.0 * coil_m3_per_s * (vapour - saturated(9.0))).epsilon(1e-6));
}

TEST_CASE("SideOfTheRoomThatHasNothingLeftGivesNoMore") {
  using physics::VapourExchange;
  // 1 m3, steps of 10 s: a film of 2 g that could give 10, outdoors as damp as the room.
  const std::array<VapourExchange, 2> exchanges{{{1.0, 0.020, 0.002}, {0.5, 0.010, 1e9}}};
  const auto result = physics::vapour_step(0.010, 1.0, 10.0, 0.0, exchanges);
  CHECK(result.taken_kg[0] == -0.002);
  CHECK(result.kg_per_m3 == Approx(0.010 + 0.002 / (1.0 + 0.5 * 10.0)));
  CHECK(result.kg_per_m3 - 0.010 == Approx(-(result.taken_kg[0] + result.taken_kg[1])));
}

// The decay of a tracer gas is how air changes are measured (ASTM E741; from memory).
TEST_CASE("VapourOfALivelessRoomDecaysByTheAirChanges") {
  for (const bool open : {false, true}) {
    RoomParameters parameters = bare_room();
    parameters.air_changes_per_h = 0.5;
    parameters.open_windows_per_h = 4.0;
    parameters.start_celsius = 15.0;
    RoomTruth room{parameters};
    RoomForcing forcing = outdoors(15.0, 0.2);
    forcing.controls.windows_open = open;
    const double floor = 0.2 * saturated(15.0);
    const double first = room.air_vapour().value() - floor;
    advance_hours(room, forcing, 1.0);
    const double left = (room.air_vapour().value() - floor) / first;
    CAPTURE(open, left);
    // Backward Euler with steps of 30 s: 0.1 % slow at 0.5 an hour, 6 % of what is left at 4.
    CHECK(left == Approx(std::exp(open ? -4.0 : -0.5)).epsilon(open ? 0.07 : 1.1e-3));
    CHECK(left == Approx(std::pow(1.0 + (open ? 4.0 : 0.5) / 120.0, -120)).epsilon(1e-9));
  }
}

TEST_CASE("FuelBurningHeaterAddsTheWaterOfItsFlame") {
  RoomParameters parameters = bare_room();
  parameters.heater.max_w = 6000.0;
  // Propane: 44.1 g give 4 times 18.015 g of water and 46.4 MJ/kg (from memory).
  const double kg_per_kwh = 4.0 * 18.015 / 44.1 / 46.4 * 3.6;
  CHECK(kg_per_kwh == Approx(0.127).margin(5e-4));
  parameters.heater.water_kg_per_kwh = kg_per_kwh;
  RoomTruth room{parameters};
  advance_hours(room, outdoors(0.0, 0.8), 10.0);
  CHECK(room.heat().heater_j > 1e7);
  CHECK(room.water().heater_kg == Approx(room.heat().heater_j / 3.6e6 * kg_per_kwh));
}

TEST_CASE("ColdPaneTakesWaterAtTheRateOfTheHandCalculationAndGivesItBack") {
  RoomParameters parameters = bare_room();
  parameters.start_rh_fraction = 0.80;
  parameters.air_changes_per_h = 0.02;
  RoomTruth room{parameters};
  RoomForcing cold = outdoors(-10.0, 0.8);
  advance_hours(room, cold, 0.25);
  const double pane = room.pane_temperature().value();
  const double before_kg = room.pane_film().value();
  room.advance(kStepS, cold);
  const double vapour = room.air_vapour().value();  // backward Euler: of the end of the step
  REQUIRE(vapour > saturated(pane));
  // 2.5 mm/s over 4 m2 for 30 s.
  CHECK(room.pane_film().value() - before_kg ==
        Approx(2.5e-3 * 4.0 * 30.0 * (vapour - saturated(pane))).epsilon(1e-9));
  REQUIRE(room.pane_film().value() > 0.003);
  RoomForcing warm = outdoors(25.0, 0.2);
  warm.controls.windows_open = true;
  advance_hours(room, warm, 24.0);
  CHECK(room.pane_film().value() == 0.0);
  CHECK(room.water().run_off_kg == 0.0);
}

// Per kg 2.45 MJ are set free on the pane itself: it is warmer than a dry one.
TEST_CASE("SteadyPaneIsWarmedByTheWaterThatCondensesOnIt") {
  RoomParameters parameters = bare_room();
  parameters.heater.max_w = 3000.0;
  parameters.pane.most_film_kg_per_m2 = 0.001;
  RoomTruth room{parameters};
  RoomForcing forcing = outdoors(-10.0, 0.8);
  forcing.gain_kg_per_s = 1e-4;
  advance_hours(room, forcing, 24.0 * 40);
  const double before_kg = room.water().run_off_kg;
  advance_hours(room, forcing, 1.0);
  const double latent_w = 2.45e6 * (before_kg - room.water().run_off_kg) / 3600.0;
  REQUIRE(latent_w > 20.0);
  const double inside_w_per_k = 7.7 * 4.0;
  const double outside_w_per_k = 4.0 / (1.0 / 2.0 - 1.0 / 7.7);
  const double pane =
      (inside_w_per_k * room.air_temperature().value() - outside_w_per_k * 10.0 + latent_w) /
      (inside_w_per_k + outside_w_per_k);
  CHECK(room.pane_temperature().value() == Approx(pane).margin(1e-3));
}

TEST_CASE("WallsThatTakeUpWaterAreWarmedByIt") {
  RoomParameters parameters = bare_room();
  RoomTruth dead{parameters};
  parameters.buffer = BufferParameters{};
  RoomTruth live{parameters};
  RoomForcing forcing = outdoors(20.0, 0.9);
  forcing.controls.windows_open = true;
  advance_hours(dead, forcing, 6.0);
  advance_hours(live, forcing, 6.0);
  REQUIRE(live.buffer_rh().value() > 0.6);
  CHECK(live.wall_temperature().value() > dead.wall_temperature().value() + 0.05);
}

TEST_CASE("CoilAddsNoWaterToDryAir") {
  RoomParameters parameters = bare_room();
  parameters.cooling.flow_m3_per_s = 0.1;
  parameters.start_celsius = 28.0;
  parameters.start_rh_fraction = 0.1;  // dew point below the coil
  RoomTruth room{parameters};
  RoomForcing forcing = outdoors(35.0, 0.05);
  forcing.controls = controls_at_start(parameters);
  advance_hours(room, forcing, 5.0);
  CHECK(room.heat().cooling_j < -1e6);
  CHECK(room.water().cooling_kg == 0.0);
}

TEST_CASE("WarmDampAirWetsAColdFloor") {
  RoomParameters parameters = bare_room();
  parameters.start_celsius = 8.0;
  RoomTruth room{parameters};
  RoomForcing forcing = outdoors(24.0, 0.9);
  forcing.controls.windows_open = true;
  advance_hours(room, forcing, 3.0);
  CHECK(room.floor_film().value() > 0.1);
  CHECK(room.rh_at_slab_surface().value() == 1.0);
  forcing = outdoors(24.0, 0.4);
  forcing.controls.windows_open = true;
  advance_hours(room, forcing, 48.0);
  CHECK(room.floor_film().value() == 0.0);
}

// Two stores and one exchange between them: the difference dies out with the sum of both rates.
TEST_CASE("WallsAndAirShareWaterAtTheRateOfTwoCoupledStores") {
  RoomParameters parameters = bare_room();
  parameters.buffer = BufferParameters{};
  parameters.air_changes_per_h = 1e-9;
  parameters.wall_j_per_k = 1e15;  // else the heat of the water shifts what the walls hold
  parameters.start_celsius = 20.0;
  RoomTruth room{parameters};
  RoomForcing forcing = outdoors(20.0, 0.5);
  forcing.gain_kg_per_s = 1e-5;
  advance_hours(room, forcing, 2.0);  // pulls air and walls apart
  forcing.gain_kg_per_s = 0.0;
  const auto apart = [&] {
    return room.air_vapour().value() - room.buffer_rh().value() * saturated(20.0);
  };
  const double first = apart();
  advance_hours(room, forcing, 1.0);
  const double exchange_m3_per_s = 1.3e-4 * 70.0;
  const double rate_per_s = exchange_m3_per_s * (1.0 / 50.0 + saturated(20.0) / (70.0 * 0.04));
  const double left = apart() / first;
  CHECK(left == Approx(std::exp(-3600.0 * rate_per_s)).epsilon(4e-3));
  CHECK(left == Approx(std::pow(1.0 + kStepS * rate_per_s, -120)).epsilon(1e-6));
}

TEST_CASE("WaterThatDriesInTheRoomCoolsIt") {
  RoomTruth dry{bare_room()};
  RoomTruth wet{bare_room()};
  RoomForcing forcing = outdoors(20.0, 0.3);
  advance_hours(dry, forcing, 6.0);
  forcing.wet_trade_kg_per_s = 0.1 / 3600.0;
  advance_hours(wet, forcing, 6.0);
  CHECK(wet.heat().latent_j == Approx(-0.1 * 6.0 * 2.45e6));
  CHECK(wet.air_temperature().value() < dry.air_temperature().value() - 0.15);
}

TEST_CASE("AirIsNeverOverSaturated") {
  RoomParameters parameters = bare_room();
  RoomTruth room{parameters};
  RoomForcing forcing = outdoors(-15.0, 0.9);
  forcing.gain_kg_per_s = 1e-3;
  const double before_kg = room.stored_water_kg();
  double most = 0.0;
  for (int step = 0; step < 2000; ++step) {
    room.advance(kStepS, forcing);
    most = std::max(most, room.air_rh().value());
  }
  CHECK(most == Approx(1.0).margin(1e-12));
  CHECK(room.floor_film().value() > 1.0);
  CHECK(room.stored_water_kg() - before_kg ==
        Approx(room.water().gain_kg + room.water().outdoors_kg + room.water().run_off_kg));
}
