// Guarded decisions and the probability of a wrong "ready", gate by gate.
#include <catch2/catch.hpp>

#include "analysis/physics/psychrometrics.hpp"
#include "analysis/readiness/room_replay.hpp"
#include "analysis/readiness/uncertainty/conformance.hpp"
#include "tests/readiness/ready_room.hpp"

using namespace ready_room;
using analysis::base::KelvinDelta;

namespace {

// A ready room whose sensors have known uncertainties and whose run stayed well inside the band.
RoomEvidence measured() {
  RoomEvidence room = evidence();
  channel_of(room, "air-t").standard_uncertainty = 0.2;
  channel_of(room, "air-rh").standard_uncertainty = 0.015;
  channel_of(room, "core-t").standard_uncertainty = 0.2;
  channel_of(room, "slab-t").standard_uncertainty = 0.2;
  channel_of(room, "slab-rh").standard_uncertainty = 0.012;
  room.dwell.recent.parts[0] =
      AirExtremes{Celsius{19.0}, Celsius{21.0}, RelativeHumidity{0.49}, RelativeHumidity{0.55}};
  return room;
}

FloorRequirements guarded() {
  FloorRequirements required = requirements();
  required.decision = {DecisionRule::guarded, "job"};
  return required;
}

}  // namespace

TEST_CASE("A guarded decision without accuracies can't tell, a simple one can") {
  CHECK(assess_room(requirements(), evidence()).verdict == Verdict::ready);
  const RoomAssessment assessment = assess_room(guarded(), evidence());
  CHECK(assessment.verdict == Verdict::cannot_tell);
  for (const char* id : {"dwell", "stack_core", "slab", "condensation"}) {
    const GateResult gate = gate_of(assessment, id);
    CAPTURE(id, gate.reason);
    CHECK(gate.state == GateState::unknown);
    CHECK(gate.reason.find("how accurate") != std::string::npos);
    CHECK(gate.reason.find("(job)") != std::string::npos);
    CHECK_FALSE(gate.action.empty());
  }
}

TEST_CASE("A value between the limit and its guard is met simply, not met guarded") {
  RoomEvidence room = measured();
  SECTION("slab: 75 %RH less 2.4") {
    set_readings(room, "slab-rh", 0.7250);
    CHECK(gate_of(assess_room(guarded(), room), "slab").state == GateState::met);
    set_readings(room, "slab-rh", 0.7270);
    CHECK(gate_of(assess_room(requirements(), room), "slab").state == GateState::met);
    const GateResult gate = gate_of(assess_room(guarded(), room), "slab");
    CHECK(gate.state == GateState::not_met);
    CAPTURE(gate.reason);
    CHECK(gate.reason.find("75.0 %RH less 2.4 %RH of uncertainty = 72.6 %RH") != std::string::npos);
  }
  SECTION("core: 1 K less twice the two probes together") {
    set_readings(room, "core-t", 19.5);  // 0.5 K away; 1 - 2 * sqrt(0.2^2 + 0.2^2) = 0.434
    CHECK(gate_of(assess_room(requirements(), room), "stack_core").state == GateState::met);
    CHECK(gate_of(assess_room(guarded(), room), "stack_core").state == GateState::not_met);
    set_readings(room, "core-t", 19.6);
    CHECK(gate_of(assess_room(guarded(), room), "stack_core").state == GateState::met);
  }
  SECTION("condensation: 3 K plus twice what surface, air and humidity leave open") {
    // 20 degC, 50 %RH: dew point 9.27; slopes about 0.297 K/%RH and 0.92 K/K, so
    // u = sqrt(0.2^2 + (0.297 * 1.5)^2 + (0.92 * 0.2)^2) = 0.522 K and 3 + 2u = 4.04 K.
    set_readings(room, "slab-t", 13.2);  // 3.93 K
    CHECK(gate_of(assess_room(requirements(), room), "condensation").state == GateState::met);
    const GateResult gate = gate_of(assess_room(guarded(), room), "condensation");
    CAPTURE(gate.reason);
    CHECK(gate.state == GateState::not_met);
    CHECK(gate.reason.find("3.0 K plus 1.0 K of uncertainty = 4.0 K") != std::string::npos);
    set_readings(room, "slab-t", 13.5);
    CHECK(gate_of(assess_room(guarded(), room), "condensation").state == GateState::met);
  }
}

TEST_CASE("Guarded hours count in the band that is drawn in") {
  const FloorRequirements required = guarded();
  const AirUncertainty air{KelvinDelta{0.25}, RelativeHumidity{0.015}};
  CHECK(guard_state_from(required, air) == GuardState::drawn_in);
  const ClimateBand band = dwell_policy_from(required, air).band;
  CHECK(band.temperature_low.value() == Approx(17.5));
  CHECK(band.temperature_high.value() == Approx(22.5));
  // U 3 %RH leaves 48 to 57 %RH of 45 to 60 %RH.
  CHECK(band.rh_low.value() == Approx(0.48));
  CHECK(band.rh_high.value() == Approx(0.57));

  SECTION("simple decisions leave it") {
    CHECK(guard_state_from(requirements(), air) == GuardState::none);
    CHECK(dwell_policy_from(requirements(), air).band == ClimateBand{});
  }
  SECTION("sensors too uncertain for the band leave nothing, and the gate says so") {
    const AirUncertainty poor{KelvinDelta{0.25}, RelativeHumidity{0.04}};
    CHECK(guard_state_from(required, poor) == GuardState::nothing_left);
    RoomEvidence room = measured();
    channel_of(room, "air-rh").standard_uncertainty = 0.04;
    const GateResult gate = gate_of(assess_room(required, room), "dwell");
    CAPTURE(gate.reason);
    CHECK(gate.state == GateState::unknown);
    CHECK(gate.reason.find("leaves nothing of it") != std::string::npos);
  }
  SECTION("a replay counts by it") {
    RoomSetup setup;
    setup.requirements = required;
    setup.delivered_at = UtcMicros{0};
    ChannelSetup temperature{"box", 0,  "t", {ChannelRole::room_air_temperature, 0.01, -40, 80},
                             {},    {}, {},  SensorSpecification{0.2, 0, 0, "paper"}};
    ChannelSetup rh{"box", 1,  "rh", {ChannelRole::room_air_rh, 0.01, 0, 100},
                    {},    {}, {},   SensorSpecification{2.0, 0, 0, "paper"}};
    setup.channels = {temperature, rh};
    const auto hours_at = [&](int centi_percent, const RoomSetup& with) {
      RoomReplay replay(with);
      for (int i = 0; i <= 8; ++i) {
        analysis::base::Record record;
        record.statuses[0] = record.statuses[1] = analysis::base::ChannelStatus::ok;
        record.raw_counts[0] = 2000;
        record.raw_counts[1] = centi_percent;
        replay.add("box", record, UtcMicros{0} + micros_from_hours(i * 0.25));
      }
      return replay.dwell().in_band_seconds / 3600.0;
    };
    // 2 / sqrt(3) = 1.155 %RH: the guarded band ends at 57.69 %RH.
    CHECK(hours_at(5760, setup) == Approx(2.0));
    CHECK(hours_at(5780, setup) == 0.0);
    setup.requirements.decision.value = DecisionRule::simple;
    CHECK(hours_at(5780, setup) == Approx(2.0));
  }
}

TEST_CASE("The probability of a wrong ready is bounded by the sum over the measured gates") {
  const RoomEvidence room = measured();
  const RoomAssessment assessment = assess_room(requirements(), room);
  REQUIRE(assessment.wrong_ready_probability);
  double sum = 0.0;
  for (const char* id : {"dwell", "stack_core", "slab", "condensation"}) {
    const GateResult gate = gate_of(assessment, id);
    REQUIRE(gate.wrong_probability);
    sum += *gate.wrong_probability;
  }
  CHECK(*assessment.wrong_ready_probability == Approx(sum));
  // Slab: 72.0 %RH under 75 with u 1.2, a normal tail at 2.5: 0.00621.
  CHECK(*gate_of(assessment, "slab").wrong_probability == Approx(0.00621).margin(1e-5));
  // Dwell: 55 %RH under 60 and 49 over 45 with u 1.5; 19..21 degC with u 0.2 adds nothing.
  const double rh = run_conformance_probability({0.45, 0.60}, 0.49, 0.55, 0.015);
  CHECK(*gate_of(assessment, "dwell").wrong_probability == Approx(1.0 - rh).margin(1e-9));
  // Core: 0.4 K away of 1 K with u 0.2828.
  CHECK(*gate_of(assessment, "stack_core").wrong_probability ==
        Approx(1.0 - normal_distribution(0.6 / 0.28284)).margin(1e-5));
}

TEST_CASE("It is not given where something is not known or not met") {
  RoomEvidence room = measured();
  SECTION("a sensor without accuracy") {
    channel_of(room, "slab-rh").standard_uncertainty.reset();
    CHECK_FALSE(gate_of(assess_room(requirements(), room), "slab").wrong_probability);
  }
  SECTION("a measured gate that is not met") {
    set_readings(room, "slab-rh", 0.80);
    CHECK_FALSE(gate_of(assess_room(requirements(), room), "slab").wrong_probability);
  }
  CHECK_FALSE(assess_room(requirements(), room).wrong_ready_probability);
}

TEST_CASE("A run that touched the limit is as likely wrong as right") {
  RoomEvidence room = measured();
  room.dwell.recent.parts[0]->rh_max = RelativeHumidity{0.60};
  CHECK(*gate_of(assess_room(requirements(), room), "dwell").wrong_probability ==
        Approx(0.5).margin(0.01));
}

TEST_CASE("A slab reading counts only with the probes and the time in service the job asks for") {
  FloorRequirements required = requirements();
  required.slab->probes_at_least = Limit<int>{2, "job"};
  const GateResult few = gate_of(assess_room(required, evidence()), "slab");
  CAPTURE(few.reason);
  CHECK(few.state == GateState::unknown);
  CHECK(few.reason == "1 slab RH probes measure, at least 2 are required (job).");
  RoomEvidence room = evidence();
  room.channels.push_back(channel("slab-rh-2", ChannelRole::slab_rh, 0.70));
  CHECK(gate_of(assess_room(required, room), "slab").state == GateState::met);

  required.slab->service_conditions = Limit<Micros>{micros_from_hours(51), "job"};
  const GateResult early = gate_of(assess_room(required, room), "slab");
  CHECK(early.state == GateState::unknown);
  CHECK(early.reason.find("50.0 h; a slab reading counts after 51.0 h (job)") != std::string::npos);
  required.slab->service_conditions->value = micros_from_hours(50);
  CHECK(gate_of(assess_room(required, room), "slab").state == GateState::met);

  SECTION("a slab that is too wet stays not met") {
    set_readings(room, "slab-rh-2", 0.90);
    required.slab->probes_at_least->value = 3;
    CHECK(gate_of(assess_room(required, room), "slab").state == GateState::not_met);
  }
}

namespace {

DishTestNote dishes(double gain_grams, double hours, std::size_t count) {
  using namespace analysis::base;
  DishTestNote note{{}, "A. Tester", kNow - micros_from_hours(1)};
  note.survey.floor = SquareMetres{20.0};
  note.survey.service_conditions_held = micros_from_hours(60);
  for (std::size_t i = 0; i < count; ++i) {
    note.survey.dishes.push_back(
        {Kilograms{gain_grams / 1000.0}, SquareMetres{0.0427}, micros_from_hours(hours)});
  }
  return note;
}

}  // namespace

TEST_CASE("A dish test is asked for where the job has a limit, and judged in its own unit") {
  FloorRequirements required = requirements();
  RoomEvidence room = evidence();
  room.subfloor_tests.dish = dishes(6.0, 66.0, 3);
  CHECK(find_gate(assess_room(required, room), "slab_emission") == nullptr);

  // 6.0 g on 0.0427 m2 in 66 h is 51.1 g/m2 in 24 h.
  required.slab->emission_high = Limit<EmissionRate>{EmissionRate{0.055}, "floor's paper"};
  const GateResult met = gate_of(assess_room(required, room), "slab_emission");
  CAPTURE(met.reason);
  CHECK(met.state == GateState::met);
  CHECK(met.reason.find("gave 51.1 g/m² in 24 h") != std::string::npos);
  CHECK(met.wrong_probability);

  required.slab->emission_high->value = EmissionRate{0.050};
  CHECK(gate_of(assess_room(required, room), "slab_emission").state == GateState::not_met);
  required.slab->emission_high->value = EmissionRate{0.052};
  CHECK(gate_of(assess_room(required, room), "slab_emission").state == GateState::met);
  required.decision.value = DecisionRule::guarded;  // U is about 2 g/m2
  CHECK(gate_of(assess_room(required, room), "slab_emission").state == GateState::not_met);
  required.decision.value = DecisionRule::simple;

  SECTION("a test that was not made as it must be decides nothing") {
    room.subfloor_tests.dish = dishes(6.0, 50.0, 2);
    const GateResult gate = gate_of(assess_room(required, room), "slab_emission");
    CAPTURE(gate.reason);
    CHECK(gate.state == GateState::unknown);
    CHECK(gate.reason.find("too few places") != std::string::npos);
    CHECK(gate.reason.find("less than 60 h") != std::string::npos);
  }
  SECTION("nor does one that nobody made") {
    room.subfloor_tests.dish.reset();
    CHECK(gate_of(assess_room(required, room), "slab_emission").state == GateState::unknown);
  }
}

TEST_CASE("A carbide test is judged in CM-%") {
  FloorRequirements required = requirements();
  required.slab->carbide_high = Limit<CarbideMoisture>{carbide_from_percent(1.8), "floor's paper"};
  RoomEvidence room = evidence();
  CHECK(gate_of(assess_room(required, room), "slab_carbide").state == GateState::unknown);
  room.subfloor_tests.carbide = CarbideTestNote{
      {analysis::base::SquareMetres{20.0}, false, {carbide_from_percent(1.75)}, {}}, "T", kNow};
  CHECK(gate_of(assess_room(required, room), "slab_carbide").state == GateState::met);
  room.subfloor_tests.carbide->survey.samples[0] = carbide_from_percent(1.85);
  const GateResult gate = gate_of(assess_room(required, room), "slab_carbide");
  CAPTURE(gate.reason);
  CHECK(gate.state == GateState::not_met);
  CHECK(gate.reason.find("1.85 CM-%") != std::string::npos);
}

TEST_CASE("Pins in a wooden subfloor are corrected before they are compared") {
  FloorRequirements required = requirements();
  required.slab.reset();
  RoomEvidence room = evidence();
  CHECK(find_gate(assess_room(required, room), "wood_subfloor") == nullptr);
  required.wood_subfloor_high =
      Limit<analysis::base::MoistureContent>{analysis::base::MoistureContent{0.13}, "job"};
  CHECK(gate_of(assess_room(required, room), "wood_subfloor").state == GateState::unknown);

  // A reading of 12 % means 13.22 % at 7.2 degC, 11.99 % at 20 degC (formula from memory).
  room.subfloor_tests.wood = WoodTestNote{};
  room.subfloor_tests.wood->readings = {{analysis::base::MoistureContent{0.12}, Celsius{7.2}}};
  const GateResult cold = gate_of(assess_room(required, room), "wood_subfloor");
  CAPTURE(cold.reason);
  CHECK(cold.state == GateState::not_met);
  CHECK(cold.reason.find("gave 13.2 %") != std::string::npos);
  room.subfloor_tests.wood->readings[0].wood = Celsius{20.0};
  CHECK(gate_of(assess_room(required, room), "wood_subfloor").state == GateState::met);
  room.subfloor_tests.wood->readings.push_back(
      {analysis::base::MoistureContent{0.14}, Celsius{20.0}});
  CHECK(gate_of(assess_room(required, room), "wood_subfloor").state == GateState::not_met);

  SECTION("a meter that compensates is taken as it is") {
    room.subfloor_tests.wood->readings = {{analysis::base::MoistureContent{0.12}, Celsius{10.0}}};
    room.subfloor_tests.wood->compensation = analysis::physics::MeterCompensation::temperature;
    CHECK(gate_of(assess_room(required, room), "wood_subfloor").state == GateState::met);
  }
  SECTION("a reading outside the correction's domain decides nothing") {
    room.subfloor_tests.wood->readings = {{analysis::base::MoistureContent{0.04}, Celsius{10.0}}};
    CHECK(gate_of(assess_room(required, room), "wood_subfloor").state == GateState::unknown);
  }
}
