#include "analysis/readiness/room_replay.hpp"

#include <catch2/catch.hpp>
#include <cmath>

using namespace analysis::readiness;
using analysis::base::ChannelRole;
using analysis::base::ChannelStatus;
using analysis::base::micros_from_hours;
using analysis::base::Record;

namespace {

constexpr UtcMicros kStart{1'770'000'000'000'000};
UtcMicros minute(double minutes) { return kStart + Micros{std::llround(minutes * 60e6)}; }

ChannelSetup channel(const std::string& box, int index, const std::string& id, ChannelRole role) {
  ChannelSetup setup;
  setup.box_id = box;
  setup.channel_index = index;
  setup.channel_id = id;
  setup.scale.role = role;
  setup.calibration_due_at = minute(1e6);
  return setup;
}

// box-1 carries the room air and the core, box-2 the slab probe.
RoomSetup room() {
  RoomSetup setup;
  setup.room_id = "living-room";
  setup.requirements.slab = SlabRequirements{};
  setup.channels = {channel("box-1", 0, "air-t", ChannelRole::room_air_temperature),
                    channel("box-1", 1, "air-rh", ChannelRole::room_air_rh),
                    channel("box-1", 2, "core-t", ChannelRole::stack_core_temperature),
                    channel("box-2", 0, "slab-rh", ChannelRole::slab_rh)};
  setup.channels[3].placed_at = minute(-1000);
  setup.delivered_at = minute(0);
  setup.slab_poured_at = minute(-60.0 * 24 * 90);
  return setup;
}

Record record(double celsius, double percent = 50.0, double core_celsius = 19.5) {
  Record made;
  made.raw_counts[0] = static_cast<std::int32_t>(std::lround(celsius * 100.0));
  made.raw_counts[1] = static_cast<std::int32_t>(std::lround(percent * 100.0));
  made.raw_counts[2] = static_cast<std::int32_t>(std::lround(core_celsius * 100.0));
  return made;
}

Record slab_record(double percent) { return record(percent); }

const ChannelEvidence& channel_of(const RoomEvidence& evidence, const std::string& id) {
  for (const ChannelEvidence& candidate : evidence.channels) {
    if (candidate.channel_id == id) {
      return candidate;
    }
  }
  FAIL("no channel " << id);
  return evidence.channels.front();
}

}  // namespace

TEST_CASE("DwellCountsFromTheFirstReadingAtOrAfterTheDelivery") {
  RoomReplay replay(room());
  for (const double at : {-30.0, -15.0, -1.0}) {
    CHECK_FALSE(replay.add("box-1", record(20.0), minute(at)).counted.has_value());
  }
  CHECK(replay.dwell() == DwellState{});
  const ReplayStep step = replay.add("box-1", record(20.0), minute(14));
  REQUIRE(step.counted.has_value());
  CHECK(step.counted->temperature == Celsius{20.0});
  CHECK(step.counted->rh == RelativeHumidity{0.5});
  replay.add("box-1", record(20.0), minute(29));
  CHECK(replay.dwell().in_band_seconds == 900.0);
  CHECK(replay.dwell().first_at == minute(14));
  // Windows were warmed before the delivery.
  CHECK(channel_of(replay.evidence(minute(29)), "air-t").recent.points.size() == 5);
}

TEST_CASE("WithoutADeliveryNothingCounts") {
  RoomSetup setup = room();
  setup.delivered_at.reset();
  RoomReplay replay(setup);
  replay.add("box-1", record(20.0), minute(0));
  replay.add("box-1", record(20.0), minute(15));
  CHECK(replay.dwell() == DwellState{});
  CHECK(channel_of(replay.evidence(minute(15)), "air-t").recent.points.size() == 2);
}

TEST_CASE("OnlyTheAirBoxDrivesTheAccount") {
  RoomReplay replay(room());
  CHECK_FALSE(replay.add("box-2", slab_record(80.0), minute(0)).counted.has_value());
  CHECK_FALSE(replay.add("box-9", record(20.0), minute(5)).counted.has_value());
  CHECK(replay.dwell() == DwellState{});
  const RoomEvidence evidence = replay.evidence(minute(10));
  CHECK(channel_of(evidence, "slab-rh").last_good->value == Approx(0.80));
  CHECK_FALSE(channel_of(evidence, "air-t").last_seen_at.has_value());
}

TEST_CASE("ARoomWhoseAirIsSplitOverTwoBoxesHasNoAccount") {
  RoomSetup setup = room();
  setup.channels[1].box_id = "box-2";
  RoomReplay replay(setup);
  replay.add("box-1", record(20.0), minute(0));
  replay.add("box-2", record(20.0), minute(0));
  replay.add("box-1", record(20.0), minute(15));
  replay.add("box-2", record(20.0), minute(15));
  CHECK(replay.dwell() == DwellState{});
}

TEST_CASE("ABadChannelMakesTheTimeUnknownAndLeavesTheWindow") {
  RoomReplay replay(room());
  replay.add("box-1", record(20.0), minute(0));
  Record bad = record(20.0);
  bad.statuses[1] = ChannelStatus::no_answer;
  const ReplayStep step = replay.add("box-1", bad, minute(15));
  CHECK(step.counted.has_value());
  CHECK_FALSE(step.counted->rh.has_value());
  replay.add("box-1", record(85.0), minute(30));  // power-on value of the temperature
  CHECK(replay.dwell().total_unknown_seconds == 1800.0);
  const RoomEvidence evidence = replay.evidence(minute(30));
  CHECK(channel_of(evidence, "air-rh").recent.points.size() == 2);
  CHECK(channel_of(evidence, "air-t").recent.points.size() == 2);
  CHECK(channel_of(evidence, "air-t").last_seen_at == minute(30));
  CHECK(channel_of(evidence, "air-t").last_good->at == minute(15));
  CHECK(channel_of(evidence, "air-t").last_quality == Quality::sentinel);
}

TEST_CASE("LateRecordsAreCountedAndLeaveTheWindows") {
  RoomReplay replay(room());
  replay.add("box-1", record(20.0), minute(0));
  replay.add("box-1", record(20.0), minute(15));
  const ReplayStep late = replay.add("box-1", record(5.0), minute(10));
  CHECK_FALSE(late.counted.has_value());
  CHECK_FALSE(replay.add("box-1", record(5.0), minute(15)).counted.has_value());
  CHECK(replay.dwell().rejected == 2);
  CHECK(channel_of(replay.evidence(minute(15)), "air-t").recent.points.size() == 2);
}

TEST_CASE("ResetsAreReported") {
  RoomReplay replay(room());
  replay.add("box-1", record(20.0), minute(0));
  replay.add("box-1", record(20.0), minute(15));
  CHECK(replay.add("box-1", record(14.0), minute(30)).resets.empty());
  const ReplayStep step = replay.add("box-1", record(14.0), minute(45));
  REQUIRE(step.resets.size() == 1);
  CHECK(step.resets[0].at == minute(22.5 + 15.0));
}

TEST_CASE("CalibrationsApplyFromTheirDate") {
  RoomSetup setup = room();
  setup.channels[0].calibrations = {{minute(10), minute(1e6), 1.0, -0.5}};
  RoomReplay replay(setup);
  CHECK(replay.add("box-1", record(20.0), minute(0)).counted->temperature == Celsius{20.0});
  CHECK(replay.add("box-1", record(20.0), minute(10)).counted->temperature == Celsius{19.5});
}

TEST_CASE("TheSlabWindowHoldsTheAveragingTime") {
  for (const double hours : {12.0, 36.0}) {
    RoomSetup setup = room();
    setup.requirements.slab->averaging.value = micros_from_hours(hours);
    RoomReplay replay(setup);
    for (int i = 0; i <= 4 * 24 * 5; ++i) {
      replay.add("box-2", slab_record(80.0), minute(15.0 * i));
    }
    const auto recent = channel_of(replay.evidence(minute(7200)), "slab-rh").recent;
    CHECK(recent.points.size() == static_cast<std::size_t>(4 * hours) + 1);
    CHECK(recent.points.front().at == minute(7200 - 60.0 * hours));
    CHECK(recent.points.back().at == minute(7200));
    CHECK(recent.gaps.empty());
  }
}

TEST_CASE("TheSlabWindowKeepsOneReadingAQuarterOfAnHourAndTheNewest") {
  RoomReplay replay(room());
  for (int i = 0; i <= 60 * 30 + 7; ++i) {
    replay.add("box-2", slab_record(80.0 - 0.001 * i), minute(i));
  }
  const auto recent = channel_of(replay.evidence(minute(60 * 30 + 7)), "slab-rh").recent;
  CHECK(recent.points.size() < 100);
  CHECK(recent.points.back().at == minute(60 * 30 + 7));
  CHECK(recent.gaps.empty());
}

TEST_CASE("ThinningNeverMakesOrHidesAGap") {
  RoomSetup setup = room();
  setup.requirements.longest_interval.value = micros_from_hours(0.1);  // 6 min
  RoomReplay replay(setup);
  for (const int i : {0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 40, 41, 42, 43, 44, 45, 46, 47}) {
    replay.add("box-2", slab_record(80.0), minute(i));
  }
  const auto gaps = channel_of(replay.evidence(minute(47)), "slab-rh").recent.gaps;
  CHECK(gaps == std::vector<analysis::base::TimeRange>{{minute(9), minute(40)}});
}

TEST_CASE("LongWindowsSurviveARestart") {
  RoomReplay whole(room());
  RoomReplay first(room());
  for (int i = 0; i <= 3000; ++i) {
    whole.add("box-2", slab_record(80.0 - 0.001 * i), minute(i));
    if (i <= 2000) {
      first.add("box-2", slab_record(80.0 - 0.001 * i), minute(i));
    }
  }
  RoomReplay second(room(), first.memory());
  for (int i = 1900; i <= 2000; ++i) {  // known already: changes nothing
    second.warm("box-2", slab_record(80.0 - 0.001 * i), minute(i));
  }
  for (int i = 2001; i <= 3000; ++i) {
    second.add("box-2", slab_record(80.0 - 0.001 * i), minute(i));
  }
  CHECK(assess_room(room().requirements, second.evidence(minute(3000))) ==
        assess_room(room().requirements, whole.evidence(minute(3000))));
  CHECK(channel_of(second.evidence(minute(3000)), "slab-rh").recent.points ==
        channel_of(whole.evidence(minute(3000)), "slab-rh").recent.points);
}

TEST_CASE("GapsOfAWindowAreStated") {
  RoomReplay replay(room());
  replay.add("box-1", record(20.0), minute(0));
  replay.add("box-1", record(20.0), minute(45));
  replay.add("box-1", record(20.0), minute(91));
  const auto gaps = channel_of(replay.evidence(minute(91)), "air-t").recent.gaps;
  CHECK(gaps == std::vector<analysis::base::TimeRange>{{minute(45), minute(91)}});
}

TEST_CASE("ABoxIsSilentOnceItsNewestRecordIsOlderThanTheLongestInterval") {
  RoomReplay replay(room());
  CHECK_FALSE(replay.evidence(minute(0)).probe_silent_since.has_value());
  replay.add("box-1", record(20.0), minute(0));
  replay.add("box-2", slab_record(70.0), minute(40));
  CHECK_FALSE(replay.evidence(minute(45)).probe_silent_since.has_value());
  CHECK(replay.evidence(minute(46)).probe_silent_since == minute(0));
  replay.add("box-1", record(20.0), minute(80));
  CHECK(replay.evidence(minute(90)).probe_silent_since == minute(40));
}

TEST_CASE("ResumingWithWarmedWindowsEqualsTheWholeReplay") {
  const auto record_at = [](int i) {
    return record(20.0 + 4.0 * std::sin(i * 0.05), 52.0 + 9.0 * std::sin(i * 0.031));
  };
  constexpr int kRecords = 1000;
  RoomReplay whole(room());
  for (int i = 0; i < kRecords; ++i) {
    whole.add("box-1", record_at(i), minute(10.0 * i));
  }
  for (const int cut : {1, 137, 500, 999}) {
    INFO("cut at record " << cut);
    RoomReplay first(room());
    for (int i = 0; i < cut; ++i) {
      first.add("box-1", record_at(i), minute(10.0 * i));
    }
    RoomReplay second(room(), first.memory());
    for (int i = std::max(0, cut - 200); i < cut; ++i) {
      second.warm("box-1", record_at(i), minute(10.0 * i));
    }
    for (int i = cut; i < kRecords; ++i) {
      second.add("box-1", record_at(i), minute(10.0 * i));
    }
    CHECK(second.dwell() == whole.dwell());
    const UtcMicros now = minute(10.0 * kRecords);
    const auto expected = assess_room(room().requirements, whole.evidence(now));
    CHECK(assess_room(room().requirements, second.evidence(now)) == expected);
  }
  CHECK(whole.dwell().resets > 3);
}

TEST_CASE("TheEvidenceOfAGoodRoomMeetsEveryGateButWhatAPersonSees") {
  RoomSetup setup = room();
  setup.requirements.site_gates.clear();
  setup.channels.push_back(channel("box-2", 1, "slab-t", ChannelRole::slab_surface_temperature));
  RoomReplay replay(setup);
  UtcMicros now = minute(0);
  for (int i = 0; i <= 4 * 50; ++i) {
    now = minute(15.0 * i);
    replay.add("box-1", record(20.0), now);
    replay.add("box-2", record(70.0, 18.0), now);
  }
  const RoomAssessment assessment = assess_room(setup.requirements, replay.evidence(now));
  for (const GateResult& gate : assessment.gates) {
    INFO(gate.id << ": " << gate.reason);
    CHECK(gate.state == GateState::met);
  }
  CHECK(assessment.verdict == Verdict::ready);
  CHECK(assessment.dwell_done_at == minute(48 * 60));
  // Four and a half hours later without a record nobody can tell.
  const auto later = assess_room(setup.requirements, replay.evidence(now + micros_from_hours(4.5)));
  CHECK(later.verdict == Verdict::cannot_tell);
  CHECK(later.unknown_share == Approx(4.5 / 54.5));
}

TEST_CASE("AFrozenReadingCountsForNothingFromWhenItIsKnown") {
  RoomSetup setup = room();
  setup.channels[1].scale.frozen_after = micros_from_hours(1);
  RoomReplay replay(setup);
  for (int i = 0; i <= 240; ++i) {  // the temperature stirs, the humidity never does
    replay.add("box-1", record(20.0 + 0.01 * (i % 3)), minute(i));
  }
  const RoomEvidence evidence = replay.evidence(minute(240));
  CHECK(channel_of(evidence, "air-rh").last_quality == Quality::frozen);
  CHECK(channel_of(evidence, "air-rh").last_good->at == minute(59));
  CHECK(replay.dwell().in_band_seconds <= 3600.0);

  // A restart finds it frozen too, once the short window was read again.
  RoomReplay restarted(setup, replay.memory());
  for (int i = 0; i <= 240; ++i) {
    restarted.warm("box-1", record(20.0 + 0.01 * (i % 3)), minute(i));
  }
  restarted.add("box-1", record(20.0), minute(241));
  CHECK(channel_of(restarted.evidence(minute(241)), "air-rh").last_quality == Quality::frozen);
}
