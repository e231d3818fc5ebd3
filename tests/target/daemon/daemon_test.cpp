// The whole daemon in real time against the box on the emulated machine: whatever is killed, reset
// or cut, nothing the box has acknowledged is lost, nothing is stored twice, and what a full box
// loses is reported as the exact range.
#include <catch2/catch.hpp>
#include <cstdint>
#include <cstdlib>
#include <map>
#include <random>
#include <set>

#include "tests/target/daemon/daemon_rig.hpp"

using firmware::core::RecordKey;
using firmware::target::BoxState;
using target_test::DaemonRig;

namespace {

bool long_campaign() { return std::getenv("DWELLOG_LONG") != nullptr; }

void require_all_once(const DaemonRig& rig) {
  std::set<std::uint32_t> numbers;
  for (const auto& [key, number] : rig.stored()) {
    CAPTURE(key.boot, key.sequence, number);
    REQUIRE(numbers.insert(number).second);
  }
  for (const std::uint32_t number : rig.numbers()) {
    CAPTURE(number);
    REQUIRE(numbers.contains(number));
  }
  CHECK(rig.gaps().empty());
}

// What is in the store and what its gaps name, as sequences of the first boot; REQUIRES that they
// share none and that all gaps are overflows.
std::set<std::int64_t> accounted(const DaemonRig& rig) {
  std::set<std::int64_t> sequences;
  for (const auto& [key, number] : rig.stored()) {
    REQUIRE(key == RecordKey{1, number});
    sequences.insert(key.sequence);
  }
  for (const auto& gap : rig.gaps()) {
    CHECK(gap.reason == logger::store::GapReason::overflow);
    CHECK(gap.boot == 1);
    for (std::int64_t sequence = gap.first_sequence; sequence <= gap.last_sequence; ++sequence) {
      CAPTURE(sequence);
      REQUIRE(sequences.insert(sequence).second);
    }
  }
  return sequences;
}

}  // namespace

TEST_CASE("TheDaemonGetsADaysBacklogOnceThroughResetsAndKills") {
  DaemonRig rig(0);
  REQUIRE(rig.take_samples(10));
  rig.start_daemon();
  rig.wait_until_stored();
  rig.kill_daemon();

  REQUIRE(rig.take_samples(1440));  // a day at one a minute
  rig.start_daemon();
  rig.wait_until_stored();

  REQUIRE(rig.take_samples(3));
  rig.emulator.control().resets_wanted = 1;
  rig.emulator.wait_for_start(2);
  REQUIRE(rig.take_samples(3));
  rig.kill_and_restart_box();
  REQUIRE(rig.take_samples(3));
  rig.wait_until_stored();
  CHECK(rig.stop_daemon() == 0);
  const auto stored = rig.stored();
  CHECK(stored.size() == 1459);
  CHECK(stored.rbegin()->first == RecordKey{3, 3});
  require_all_once(rig);
}

// The cut falls on a sample, or with no sample due on what the daemon's release writes.
TEST_CASE("PowerCutsWhileTheDaemonCollectsLoseAndRepeatNothing") {
  const std::uint32_t seed = 20260301;
  CAPTURE(seed);
  std::minstd_rand random(seed);
  DaemonRig rig(0);
  REQUIRE(rig.take_samples(80));  // so that a block fills up on the way
  rig.start_daemon();
  rig.wait_until_stored();
  auto& faults = rig.emulator.control().faults;
  const int cuts_wanted = long_campaign() ? 60 : 6;
  int cuts = 0;
  while (cuts < cuts_wanted) {
    const bool in_release = cuts % 3 == 2;
    REQUIRE(rig.take_samples(1 + static_cast<std::uint32_t>(random()) % 4));
    faults.tear_mask = static_cast<std::uint32_t>(random()) & 0xffU;
    faults.cut_countdown = 1 + static_cast<std::uint32_t>(random()) % (in_release ? 3U : 44U);
    if (in_release) {
      rig.emulator.wait_until([&] { return rig.emulator.state() == BoxState::power_lost; },
                              "the daemon releases nothing");
    } else {
      while (rig.take_samples(1)) {
      }
    }
    ++cuts;
    faults.cut_countdown = 0;
    rig.emulator.reset();
  }
  REQUIRE(rig.take_samples(1));
  rig.wait_until_stored();
  CHECK(rig.stop_daemon() == 0);
  require_all_once(rig);
  CHECK(faults.rule_breaks == 0);
}

TEST_CASE("WhatAFullBoxLostIsTheExactRangeInTheStore") {
  DaemonRig rig(4);
  REQUIRE(rig.take_samples(400));
  rig.start_daemon();
  rig.wait_until_stored(178);  // two of the four blocks of 89 were used again
  REQUIRE(rig.gaps().size() == 1);
  CHECK(rig.gaps()[0].first_sequence == 1);
  CHECK(rig.gaps()[0].last_sequence == 178);
  rig.kill_daemon();

  REQUIRE(rig.take_samples(500));
  rig.start_daemon();
  rig.emulator.wait_until([&] { return rig.stored().rbegin()->first.sequence == 900; },
                          "the store does not get the newest record");
  CHECK(rig.stop_daemon() == 0);
  const std::set<std::int64_t> all = accounted(rig);
  CHECK(all.size() == 900);
  CHECK(*all.rbegin() == 900);
  CHECK(rig.gaps().size() >= 2);
}
