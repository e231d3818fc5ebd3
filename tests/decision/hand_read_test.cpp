// Probes read by hand in sleeves, alone and beside probes that stay in the slab.
#include <catch2/catch.hpp>

#include "tests/readiness/ready_room.hpp"

using namespace ready_room;

namespace {

// As the practice asks: three holes at 0.4 x 100 mm, 26 h after drilling, the room as in use for 60
// h.
RhTestNote probes_at(double highest) {
  RhTestNote note{{}, "A. Tester", kNow - micros_from_hours(1)};
  note.test.thickness = Metres{0.1};
  note.test.floor = SquareMetres{20.0};
  note.test.service_conditions_held = micros_from_hours(60);
  note.test.places.assign(3, {Metres{0.04}, RelativeHumidity{0.65}, micros_from_hours(26), {}});
  note.test.places[1].rh = RelativeHumidity{highest};
  return note;
}

GateResult slab_of(const RoomEvidence& room, const FloorRequirements& required = requirements()) {
  return gate_of(assess_room(required, room), "slab");
}

RoomEvidence without_channel(double highest) {
  RoomEvidence room = evidence();
  remove_channel(room, "slab-rh");
  room.subfloor_tests.rh = probes_at(highest);
  return room;
}

bool says(const GateResult& gate, const std::string& words) {
  INFO(gate.reason);
  return gate.reason.find(words) != std::string::npos;
}

}  // namespace

TEST_CASE("Without a probe that stays, those read by hand decide the slab") {
  const GateResult met = slab_of(without_channel(0.74));
  CHECK(met.reason ==
        "The probe test of 2026-02-02 gave 74.0 %RH at the wettest place (U 2.0 %RH), "
        "the limit is 75.0 %RH (common practice).");
  CHECK(met.state == GateState::met);
  CHECK(met.wrong_probability);
  CHECK(assess_room(requirements(), without_channel(0.74)).verdict == Verdict::ready);
  CHECK(slab_of(without_channel(0.75)).state == GateState::met);
  CHECK(slab_of(without_channel(0.751)).state == GateState::not_met);
  // A reading beyond tenths does not look like the limit that it breaks.
  const GateResult close = slab_of(without_channel(0.75004));
  CHECK(close.state == GateState::not_met);
  CHECK(says(close, "gave 75.004 %RH"));
  FloorRequirements guarded = requirements();
  guarded.decision = {DecisionRule::guarded, "job"};  // U is 2 %RH: 73 is the highest
  CHECK(slab_of(without_channel(0.74), guarded).state == GateState::not_met);
}

TEST_CASE("Probes that were not read as the practice asks decide nothing, and say why") {
  RoomEvidence room = without_channel(0.74);
  auto& test = room.subfloor_tests.rh->test;
  SECTION("too early") {
    test.places[0].equilibrated_for = micros_from_hours(20);
    CHECK(says(slab_of(room), "a probe was read less than 24 h after its hole was drilled"));
    FloorRequirements patient = requirements();
    patient.slab->settle.value = micros_from_hours(12);
    CHECK(slab_of(room, patient).state == GateState::met);
  }
  SECTION("at another depth") {
    test.places[0].depth = Metres{0.05};
    CHECK(says(slab_of(room), "a hole is not at the depth asked for, 40 mm"));
  }
  SECTION("a cold site") {
    test.service_conditions_held = micros_from_hours(47);
    CHECK(says(slab_of(room), "not as in use for at least 48 h before"));
    FloorRequirements quick = requirements();
    quick.slab->service_conditions = Limit<Micros>{micros_from_hours(24), "job"};
    CHECK(slab_of(room, quick).state == GateState::met);
  }
  SECTION("too few") {
    test.places.resize(2);
    CHECK(says(slab_of(room), "too few places for this floor, 3 are asked for"));
    FloorRequirements shared = requirements();
    shared.slab->probes_at_least = Limit<int>{2, "its share of the slab"};
    CHECK(slab_of(room, shared).state == GateState::met);
    return;
  }
  SECTION("impossible") {
    test.places[0].rh = RelativeHumidity{1.2};
    CHECK(says(slab_of(room), "outside what such a test can give"));
  }
  CHECK(slab_of(room).state == GateState::unknown);
}

TEST_CASE("One wet hole refuses the floor, however few there are") {
  RoomEvidence room = without_channel(0.79);
  auto& test = room.subfloor_tests.rh->test;
  test.places.resize(2);
  CHECK(slab_of(room).state == GateState::not_met);
  CHECK(says(slab_of(room), "gave 79.0 %RH at the wettest place"));
  test.places[1].equilibrated_for = micros_from_hours(20);
  CHECK(slab_of(room).state == GateState::unknown);
  test.places[1] = test.places[0];  // 65 %RH
  CHECK(slab_of(room).state == GateState::unknown);
}

TEST_CASE("Where both exist the higher value decides, and the other one is said") {
  RoomEvidence room = evidence();  // the channel is at 72 %RH
  SECTION("the hand reading is higher and met") {
    room.subfloor_tests.rh = probes_at(0.74);
    const GateResult gate = slab_of(room);
    CHECK(gate.state == GateState::met);
    CHECK(says(gate, "The probe test of 2026-02-02 gave 74.0 %RH"));
    CHECK(says(gate, "The probes that stay in the slab show 72.0 %RH at most, not higher."));
  }
  SECTION("the hand reading is higher and too wet") {
    room.subfloor_tests.rh = probes_at(0.80);
    CHECK(slab_of(room).state == GateState::not_met);
  }
  SECTION("the channel is higher") {
    room.subfloor_tests.rh = probes_at(0.70);
    const GateResult gate = slab_of(room);
    CHECK(gate.state == GateState::met);
    CHECK(says(gate, "Slab RH slab-rh is at 72.0 %RH"));
    CHECK(says(gate, "The probe test of 2026-02-02 gave 70.0 %RH, not higher."));
    set_readings(room, "slab-rh", 0.80);
    CHECK(slab_of(room).state == GateState::not_met);
  }
  SECTION("a channel without values stays unknown, unless the hand reading is too wet") {
    channel_of(room, "slab-rh").placed_at.reset();
    room.subfloor_tests.rh = probes_at(0.70);
    const GateResult gate = slab_of(room);
    CHECK(gate.state == GateState::unknown);
    CHECK(says(gate, " The probe test of 2026-02-02 gave 70.0 %RH."));
    room.subfloor_tests.rh = probes_at(0.80);
    CHECK(slab_of(room).state == GateState::not_met);
  }
  SECTION("a hand reading that does not count changes nothing") {
    room.subfloor_tests.rh = probes_at(0.80);
    room.subfloor_tests.rh->test.places[0].equilibrated_for = micros_from_hours(2);
    const GateResult gate = slab_of(room);
    CHECK(gate.state == GateState::met);
    CHECK(says(gate, "The probe test of 2026-02-02 does not count: a probe was read less than"));
  }
}
