// Each gate met, not met and unknown. Limits are the defaults (common practice), no outside source.
#include <catch2/catch.hpp>

#include "analysis/base/day_end.hpp"
#include "tests/readiness/ready_room.hpp"

using namespace ready_room;
using analysis::base::ChannelStatus;

namespace {

GateResult gate(const std::string& id, const RoomEvidence& room,
                const FloorRequirements& required = requirements()) {
  return gate_of(assess_room(required, room), id);
}

bool contains(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

constexpr UtcMicros kHourAgo{kNow.value - 3'600'000'000};

}  // namespace

TEST_CASE("DeliveryGate") {
  RoomEvidence room = evidence();
  CHECK(gate("delivery", room).state == GateState::met);
  room.delivered_at = kNow + micros_from_hours(1);
  CHECK(gate("delivery", room).state == GateState::not_met);
  room.delivered_at.reset();
  CHECK(gate("delivery", room).state == GateState::unknown);
}

TEST_CASE("DwellGateIsMetByTheHoursOfTheCurrentRun") {
  const GateResult met = gate("dwell", evidence());
  CHECK(met.state == GateState::met);
  CHECK(met.reason ==
        "The room air has been in its band for 50.0 h of the 48.0 h required (common practice).");
  CHECK(met.action.empty());
}

TEST_CASE("DwellGateSaysWhatIsMissingAndWhatToDo") {
  RoomEvidence room = evidence();
  room.dwell.done_at.reset();
  room.dwell.in_band_seconds = 47.97 * 3600.0;
  GateResult result = gate("dwell", room);
  CHECK(result.state == GateState::not_met);
  CHECK(contains(result.reason, "47.9 h of the 48.0 h"));
  CHECK(contains(result.reason, "0.1 h are missing"));
  CHECK(contains(result.action, "17.0 °C to 23.0 °C and 45.0 %RH to 60.0 %RH"));
  room.dwell.previous = DwellSample{kNow, Celsius{15.5}, RelativeHumidity{0.613}};
  result = gate("dwell", room);
  CHECK(contains(result.action, "Heat the room: the air was last at 15.5 °C"));
  CHECK(contains(result.action, "Dry the air: it was last at 61.3 %RH"));
  room.dwell.previous = DwellSample{kNow, Celsius{24.0}, RelativeHumidity{0.44}};
  result = gate("dwell", room);
  CHECK(contains(result.action, "Cool the room"));
  CHECK(contains(result.action, "Humidify the air"));
  room.dwell.previous->rh.reset();
  CHECK(contains(gate("dwell", room).action, "Restore the readings"));
}

TEST_CASE("DwellGateSaysThatCompleteHoursHaveLapsed") {
  RoomEvidence room = evidence();
  room.dwell.in_band_seconds = 5.0 * 3600.0;
  const GateResult result = gate("dwell", room);
  CHECK(result.state == GateState::not_met);
  CHECK(contains(result.reason, "were complete at 2026-02-02 00:40 UTC, but the run broke"));
  CHECK(contains(result.reason, "5.0 h of the 48.0 h"));
}

TEST_CASE("DwellGateIsUnknownWithoutDeliveryOrReadings") {
  RoomEvidence room = evidence();
  room.delivered_at.reset();
  CHECK(gate("dwell", room).state == GateState::unknown);
  room = evidence();
  room.dwell = DwellState{};
  CHECK(gate("dwell", room).state == GateState::unknown);
  FloorRequirements nothing_required = requirements();
  nothing_required.dwell.value = Micros{0};
  CHECK(gate("dwell", room, nothing_required).state == GateState::unknown);
}

TEST_CASE("DwellGateIsInDoubtWhileReadingsAreOutstanding") {
  RoomEvidence room = evidence();
  const auto silent_for = [&](double hours) {
    room.dwell.previous->at = kNow - micros_from_hours(hours);
  };
  silent_for(3.9);  // within the unknown time a run may hold
  CHECK(gate("dwell", room).state == GateState::met);
  silent_for(4.1);
  CHECK(gate("dwell", room).state == GateState::unknown);
  room.dwell.done_at.reset();
  room.dwell.in_band_seconds = 40.0 * 3600.0;
  silent_for(7.5);  // 47.5 h at best
  CHECK(gate("dwell", room).state == GateState::not_met);
  silent_for(8.5);
  CHECK(gate("dwell", room).state == GateState::unknown);
}

TEST_CASE("StackCoreGateComparesWithTheRoomAir") {
  RoomEvidence room = evidence();
  const GateResult met = gate("stack_core", room);
  CHECK(met.state == GateState::met);
  CHECK(contains(met.reason, "core-t is at 19.6 °C beside room air at 20.0 °C"));
  set_readings(room, "core-t", 19.0);
  CHECK(gate("stack_core", room).state == GateState::met);
  set_readings(room, "core-t", 18.98);
  const GateResult away = gate("stack_core", room);
  CHECK(away.state == GateState::not_met);
  CHECK(contains(away.reason, "1.02 K away"));
  CHECK(contains(away.reason, "1.00 K allowed (common practice)"));
  set_readings(room, "core-t", 21.5);
  CHECK(gate("stack_core", room).state == GateState::not_met);
}

TEST_CASE("StackCoreGateRefusesAColdStackInAColdRoom") {
  RoomEvidence room = evidence();
  set_readings(room, "air-t", 15.8);
  set_readings(room, "core-t", 15.7);
  const GateResult result = gate("stack_core", room);
  CHECK(result.state == GateState::not_met);
  CHECK(contains(result.reason, "15.7 °C is below 16.0 °C"));
}

TEST_CASE("StackCoreGateUsesTheLastHourOfTheCoreAndThreeOfTheAir") {
  RoomEvidence room = evidence();
  // The core has been right for the last hour only; the air was cold until three hours ago.
  for (auto& point : channel_of(room, "core-t").recent.points) {
    point.value = point.at < kHourAgo ? 5.0 : 19.6;
  }
  for (auto& point : channel_of(room, "air-t").recent.points) {
    point.value = point.at < kNow - micros_from_hours(3) ? 5.0 : 20.0;
  }
  CHECK(gate("stack_core", room).state == GateState::met);
}

TEST_CASE("StackCoreGateIsUnknownWithoutItsProbe") {
  RoomEvidence room = evidence();
  set_readings(room, "core-t", 19.6, kHourAgo);
  channel_of(room, "core-t").last_status = ChannelStatus::open_circuit;
  const GateResult stale = gate("stack_core", room);
  CHECK(stale.state == GateState::unknown);
  CHECK(contains(stale.reason, "no good value for 1 h, longer than 45 min"));
  CHECK(contains(stale.reason, "open_circuit"));
  channel_of(room, "core-t").last_good.reset();
  channel_of(room, "core-t").last_status = ChannelStatus::ok;
  channel_of(room, "core-t").last_quality = Quality::sentinel;
  CHECK(gate("stack_core", room).state == GateState::unknown);
  CHECK(contains(gate("stack_core", room).reason, "sentinel"));
  remove_channel(room, "core-t");
  CHECK(gate("stack_core", room).state == GateState::unknown);
  FloorRequirements no_probe = requirements();
  no_probe.core_probe_required = false;
  CHECK(find_gate(assess_room(no_probe, room), "stack_core") == nullptr);
}

TEST_CASE("StackCoreGateNeedsHalfOfItsTimes") {
  RoomEvidence room = evidence();
  channel_of(room, "core-t").recent = steady(19.6, 0.4);
  CHECK(gate("stack_core", room).state == GateState::unknown);
  channel_of(room, "core-t").recent = steady(19.6, 0.6);
  CHECK(gate("stack_core", room).state == GateState::met);
  channel_of(room, "core-t").placed_at = kNow - micros_from_hours(0.4);
  CHECK(gate("stack_core", room).state == GateState::unknown);
  room = evidence();
  remove_channel(room, "air-t");
  CHECK(gate("stack_core", room).state == GateState::unknown);
}

TEST_CASE("TheColdestOfSeveralCoreProbesDecides") {
  RoomEvidence room = evidence();
  room.channels.push_back(channel("core-2", ChannelRole::stack_core_temperature, 17.0));
  CHECK(gate("stack_core", room).state == GateState::not_met);
  CHECK(contains(gate("stack_core", room).reason, "core-2"));
  channel_of(room, "core-2").last_good.reset();
  CHECK(gate("stack_core", room).state == GateState::unknown);
}

TEST_CASE("SlabGate") {
  RoomEvidence room = evidence();
  CHECK(gate("slab", room).state == GateState::met);
  set_readings(room, "slab-rh", 0.75);
  CHECK(gate("slab", room).state == GateState::met);
  set_readings(room, "slab-rh", 0.7504);
  const GateResult wet = gate("slab", room);
  CHECK(wet.state == GateState::not_met);
  CHECK(contains(wet.reason, "75.04 %RH"));
  CHECK(contains(wet.reason, "limit of 75.00 %RH (common practice)"));
  FloorRequirements wood = requirements();
  wood.slab.reset();
  CHECK(find_gate(assess_room(wood, room), "slab") == nullptr);
}

TEST_CASE("SlabGateIsUnknownUntilTheProbeHasSettled") {
  RoomEvidence room = evidence();
  ChannelEvidence& probe = channel_of(room, "slab-rh");
  probe.placed_at.reset();
  CHECK(gate("slab", room).state == GateState::unknown);
  probe.placed_at = kNow - micros_from_hours(23.9);
  CHECK(contains(gate("slab", room).reason, "23 h 54 min and has to settle for 24 h"));
  CHECK(gate("slab", room).state == GateState::unknown);
  // What it showed while settling is not averaged: half of 24 h has to follow.
  probe.placed_at = kNow - micros_from_hours(35.9);
  CHECK(gate("slab", room).state == GateState::unknown);
  probe.placed_at = kNow - micros_from_hours(36.1);
  CHECK(gate("slab", room).state == GateState::met);
}

TEST_CASE("SlabGateIsUnknownWithoutRecentOrEnoughValues") {
  RoomEvidence room = evidence();
  set_readings(room, "slab-rh", 0.72, kHourAgo);
  CHECK(gate("slab", room).state == GateState::unknown);
  room = evidence();
  channel_of(room, "slab-rh").recent = steady(0.72, 11.9);
  CHECK(gate("slab", room).state == GateState::unknown);
  channel_of(room, "slab-rh").recent = steady(0.72, 12.1);
  CHECK(gate("slab", room).state == GateState::met);
  remove_channel(room, "slab-rh");
  CHECK(gate("slab", room).state == GateState::unknown);
}

TEST_CASE("SlabAgeGate") {
  RoomEvidence room = evidence();
  CHECK(gate("slab_age", room).state == GateState::met);
  room.slab_poured_at = kNow - micros_from_hours(24 * 60.0);
  CHECK(gate("slab_age", room).state == GateState::met);
  room.slab_poured_at = kNow - micros_from_hours(24 * 60.0 - 0.1);
  const GateResult young = gate("slab_age", room);
  CHECK(young.state == GateState::not_met);
  CHECK(contains(young.reason, "59.9 days old, less than the 60.0 days"));
  CHECK(contains(young.action, "2026-02-02 02:46 UTC"));
  // Of a pour that is known to the day alone no time of day is made up: 60 days after 5 December.
  room.slab_poured_at =
      analysis::base::day_end_from(*analysis::base::utc_from_rfc3339("2025-12-05T00:00:00Z"));
  CHECK(contains(gate("slab_age", room).action, "Wait until the end of 2026-02-03, when"));
  room.slab_poured_at.reset();
  CHECK(gate("slab_age", room).state == GateState::unknown);
}

TEST_CASE("CondensationGate") {
  RoomEvidence room = evidence();
  // 20 deg C, 50 %RH: dew point 9.272 deg C (psychrolib 1.1.1).
  set_readings(room, "slab-t", 12.28);
  CHECK(gate("condensation", room).state == GateState::met);
  set_readings(room, "slab-t", 12.0);
  const GateResult risk = gate("condensation", room);
  CHECK(risk.state == GateState::not_met);
  CHECK(contains(risk.reason, "12.0 °C, less the dew point 9.3 °C of the room air leaves 2.7 K"));
  CHECK(contains(risk.reason, "3.0 K required (common practice)"));
}

TEST_CASE("CondensationGateLooksAtTheColdestOfThreeHours") {
  RoomEvidence room = evidence();
  auto& points = channel_of(room, "slab-t").recent.points;
  points[points.size() - 20].value = 11.0;  // 95 min ago
  CHECK(gate("condensation", room).state == GateState::not_met);
  set_readings(room, "slab-t", 18.0);
  points[points.size() - 40].value = 11.0;  // 195 min ago
  CHECK(gate("condensation", room).state == GateState::met);
}

TEST_CASE("CondensationGateIsUnknownWithoutItsInputs") {
  for (const std::string missing : {"slab-t", "air-t", "air-rh"}) {
    INFO(missing);
    RoomEvidence room = evidence();
    set_readings(room, missing, channel_of(room, missing).last_good->value, kHourAgo);
    CHECK(gate("condensation", room).state == GateState::unknown);
    remove_channel(room, missing);
    CHECK(gate("condensation", room).state == GateState::unknown);
  }
  RoomEvidence room = evidence();
  set_readings(room, "air-rh", 0.0);
  CHECK(gate("condensation", room).state == GateState::unknown);
  remove_channel(room, "slab-t");
  FloorRequirements wood = requirements();
  wood.slab.reset();
  CHECK(find_gate(assess_room(wood, room), "condensation") == nullptr);
}

TEST_CASE("EvidenceGateLimitsTheUnknownShareOfTheRun") {
  RoomEvidence room = evidence();
  CHECK(gate("evidence", room).state == GateState::met);
  room.dwell.unknown_run_seconds = 5.0 * 3600.0;  // of 50 h
  CHECK(gate("evidence", room).state == GateState::met);
  CHECK(assess_room(requirements(), room).unknown_share == Approx(0.10));
  room.dwell.unknown_run_seconds = 5.01 * 3600.0;
  const GateResult too_much = gate("evidence", room);
  CHECK(too_much.state == GateState::unknown);
  CHECK(contains(too_much.reason, "10.02 % is unknown, more than the 10.00 % allowed"));
  room.dwell = DwellState{};
  CHECK(gate("evidence", room).state == GateState::unknown);
  CHECK(assess_room(requirements(), room).unknown_share == 1.0);
}

TEST_CASE("EvidenceGateCountsTheTimeSinceTheNewestReading") {
  RoomEvidence room = evidence();
  room.dwell.previous->at = kNow - micros_from_hours(10);
  CHECK(assess_room(requirements(), room).unknown_share == Approx(0.2));
  CHECK(gate("evidence", room).state == GateState::unknown);
  room.dwell.previous->at = kNow - micros_from_hours(0.7);  // the next one may still come
  CHECK(assess_room(requirements(), room).unknown_share == 0.0);
}

TEST_CASE("EvidenceGateWantsEverySensorUsedInCalibration") {
  RoomEvidence room = evidence();
  channel_of(room, "core-t").calibration_due_at = kNow;
  CHECK(gate("evidence", room).state == GateState::met);
  channel_of(room, "core-t").calibration_due_at = kNow - micros_from_hours(48);
  channel_of(room, "slab-rh").calibration_due_at = kNow - micros_from_hours(24);
  const GateResult over = gate("evidence", room);
  CHECK(over.state == GateState::not_met);
  CHECK(contains(over.reason, "core-t, slab-rh ran out on 2026-01-31"));
  room = evidence();
  channel_of(room, "air-rh").calibration_due_at.reset();
  CHECK(gate("evidence", room).state == GateState::unknown);
  room = evidence();
  room.channels.push_back(channel("outside", ChannelRole::outdoor_temperature, 3.0));
  room.channels.back().calibration_due_at.reset();  // no gate uses it
  CHECK(gate("evidence", room).state == GateState::met);
}

TEST_CASE("EvidenceGateCannotTellWhileABoxIsSilent") {
  RoomEvidence room = evidence();
  channel_of(room, "core-t").box_id = "box-2";
  channel_of(room, "core-t").last_seen_at = kNow - micros_from_hours(5.2);
  const GateResult silent = gate("evidence", room);
  CHECK(silent.state == GateState::unknown);
  CHECK(contains(silent.reason, "Box box-2 has been silent for 5 h 12 min, longer than 45 min"));
  channel_of(room, "core-t").last_seen_at.reset();
  CHECK(contains(gate("evidence", room).reason, "has never reported"));
  room = evidence();
  room.probe_silent_since = kNow - micros_from_hours(2);
  CHECK(gate("evidence", room).state == GateState::unknown);
  room = evidence();
  set_readings(room, "air-rh", 0.5, kHourAgo);
  CHECK(gate("evidence", room).state == GateState::unknown);
  remove_channel(room, "air-rh");
  CHECK(contains(gate("evidence", room).reason, "measures room_air_rh"));
}

TEST_CASE("SiteGates") {
  RoomEvidence room = evidence();
  CHECK(gate("site.flat", room).state == GateState::met);
  room.site_gates[2].met = false;
  room.site_gates[2].remark = "5 mm by the door";
  const GateResult uneven = gate("site.flat", room);
  CHECK(uneven.state == GateState::not_met);
  CHECK(contains(uneven.reason, "Noted as not met by A. Layer on 2026-01-30: 5 mm by the door"));
  room.site_gates[2].grounds = "Worst 5.1 mm in 1 m of 3 mm";
  CHECK(contains(gate("site.flat", room).reason,
                 "on 2026-01-30: Worst 5.1 mm in 1 m of 3 mm; 5 mm by the door"));
  room.site_gates.erase(room.site_gates.begin() + 2);
  CHECK(gate("site.flat", room).state == GateState::unknown);
  CHECK(contains(gate("site.flat", room).reason, "flat within 3 mm under a straightedge of 1 m?"));
  FloorRequirements stricter = requirements();
  stricter.flatness = {2.5, 2.0, "Product sheet 7"};
  CHECK(contains(find_gate(assess_room(stricter, room), "site.flat")->reason,
                 "within 2.5 mm under a straightedge of 2 m?"));
  FloorRequirements fewer = requirements();
  fewer.site_gates = {SiteGate::clean};
  CHECK(find_gate(assess_room(fewer, room), "site.flat") == nullptr);
  CHECK(find_gate(assess_room(fewer, room), "site.clean") != nullptr);
}

TEST_CASE("OpenAnswerIsNeitherMetNorNotMetAndSaysWhatWouldCloseIt") {
  RoomEvidence room = evidence();
  room.site_gates[1].open = true;
  room.site_gates[1].met = false;
  room.site_gates[1].grounds = "Answered: warm water in the floor";
  room.site_gates[1].to_do = "ask the supplier";
  const GateResult open = gate("site.heating_kind", room);
  CHECK(open.state == GateState::unknown);
  CHECK(open.reason ==
        "Still open, as noted by A. Layer on 2026-01-30: Answered: warm water in the floor.");
  CHECK(open.action == "Ask the supplier.");
}
