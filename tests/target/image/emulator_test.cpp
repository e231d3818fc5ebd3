// The image of the box on the emulated machine, asked over its UART.
#include <poll.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cstdint>
#include <random>
#include <set>
#include <vector>

#include "firmware-sim/target/box_loop.hpp"
#include "firmware-sim/target/machine/registers.hpp"
#include "tests/target/fake_ports.hpp"
#include "tests/target/image/image_bench.hpp"

using namespace firmware::core;
using firmware::target::bytes_from_hex;
using target_test::Emulator;
using target_test::ImageBench;
using target_test::kSlotsInBlock;
using target_test::kSmallBlocks;
using target_test::take_sample_with_slab_probe;

namespace machine = firmware::target::machine;

namespace {

// A register or a word of memory, as the machine has it.
std::uint32_t word_at(Emulator& emulator, std::uintptr_t address) {
  const auto bytes = emulator.memory_at(static_cast<std::uint32_t>(address), 4);
  std::uint32_t word = 0;
  std::copy_n(bytes.begin(), bytes.size(), reinterpret_cast<std::uint8_t*>(&word));
  return word;
}

}  // namespace

TEST_CASE("IdentityAndLiveChannelsAreRead") {
  ImageBench bench;
  const Sample sample{.flags = 6,
                      .raw_counts = {-4000, 4875, 1830, 2010, 8500, 3291, 32767, -32768},
                      .statuses = {0, 1, 2, 3, 4, 5, 6, 7}};
  REQUIRE(bench.take_sample({}));
  REQUIRE(bench.take_sample(sample));
  const BoxIdentity identity = bench.master.identity();
  CHECK(identity.serial == 42);
  CHECK(identity.boot == 1);
  CHECK(identity.held == 2);
  CHECK(identity.capacity == 255 * kSlotsInBlock);
  CHECK(identity.sample_interval_s == 60);
  CHECK(identity.newest == RecordKey{1, 2});
  const LiveSample live = bench.master.live();
  CHECK(live.sequence == 2);
  CHECK(live.sample == sample);
  CHECK(live.ticks_ms <= bench.master.identity().ticks_ms);
  CHECK(bench.emulator.control().bytes_dropped == 0);
}

TEST_CASE("RecordsAreReadReleasedAndSurviveResetAndKill") {
  ImageBench bench;
  for (std::uint32_t sequence = 1; sequence <= 12; ++sequence) {
    REQUIRE(bench.take_sample(sample_for(1, sequence)));
  }
  std::vector<BoxRecord> records = bench.all_records();
  REQUIRE(records.size() == 12);
  for (std::uint32_t i = 0; i < 12; ++i) {
    CHECK(records[i].key() == RecordKey{1, i + 1});
    CHECK(records[i].sample == sample_for(1, i + 1));
  }
  CHECK(bench.master.release({1, 5}) == 0);
  CHECK(bench.master.identity().oldest == RecordKey{1, 6});

  bench.emulator.reset();
  CHECK(bench.master.identity().boot == 2);
  CHECK(bench.master.identity().oldest == RecordKey{1, 6});
  CHECK(bench.master.release({1, 6}) == kIllegalDataValue);  // not read in this boot
  records.erase(records.begin(), records.begin() + 5);
  CHECK(bench.all_records() == records);

  bench.emulator.control().resets_wanted = 1;
  bench.emulator.wait_for_start(3);
  CHECK(bench.master.identity().boot == 3);

  bench.emulator.kill();
  bench.emulator.start();
  CHECK(bench.master.identity().boot == 4);
  CHECK(bench.all_records() == records);
  CHECK(bench.master.release(records.back().key()) == 0);
  CHECK(bench.master.identity().held == 0);
  CHECK(bench.emulator.control().faults.rule_breaks == 0);
}

TEST_CASE("OverflowIsReportedAsTheExactRangeAndWearIsEven") {
  ImageBench bench(kSmallBlocks);
  REQUIRE(bench.emulator.take_samples(500));
  const BoxIdentity identity = bench.master.identity();
  const LostBlock lost = bench.master.lost();
  REQUIRE(lost.count == 1);
  CHECK(lost.ranges[0].first == 1);
  CHECK(lost.ranges[0].last + 1 == identity.oldest.sequence);
  CHECK(lost.total + identity.held == identity.newest.sequence);
  CHECK(bench.master.select({}) == 0);
  CHECK(bench.master.window(0).at(0).key() == identity.oldest);
  const auto erases = bench.emulator.erase_counts(kSmallBlocks);
  const auto [least, most] = std::minmax_element(erases.begin(), erases.end());
  CHECK(*most - *least <= 1);
  CHECK(*most >= 1);
}

// Each cut falls on the next unit of one stored sample after the other, over a change of block.
TEST_CASE("PowerCutInAFlashWriteLosesNothingAcknowledged") {
  ImageBench bench(kSmallBlocks);
  REQUIRE(bench.emulator.take_samples(kSlotsInBlock - 14));
  const std::uint32_t seed = 20240611;
  CAPTURE(seed);
  std::minstd_rand random(seed);
  std::set<RecordKey> acknowledged;
  for (const BoxRecord& record : bench.all_records()) {
    acknowledged.insert(record.key());
  }
  int cuts = 0;
  for (std::uint32_t cut = 1; cut <= 60; ++cut) {
    CAPTURE(cut);
    auto& faults = bench.emulator.control().faults;
    faults.tear_mask = static_cast<std::uint32_t>(random()) & 0xffU;
    faults.cut_countdown = cut <= 44 ? cut : 1 + static_cast<std::uint32_t>(random()) % 240;
    const bool taken = bench.take_sample(sample_for(7, cut));
    faults.cut_countdown = 0;
    cuts += taken ? 0 : 1;
    if (taken) {
      acknowledged.insert(bench.master.identity().newest);
    } else {
      bench.emulator.reset();
    }
    const std::vector<BoxRecord> records = bench.all_records();
    std::set<RecordKey> held;
    for (const BoxRecord& record : records) {
      CHECK(held.insert(record.key()).second);
    }
    REQUIRE(std::includes(held.begin(), held.end(), acknowledged.begin(), acknowledged.end()));
    if (records.size() > 60) {
      REQUIRE(bench.master.release(records.back().key()) == 0);
      acknowledged.clear();
    }
  }
  CHECK(cuts >= 42);
  CHECK(bench.master.lost().total == 0);
  CHECK(bench.emulator.control().faults.rule_breaks == 0);
}

TEST_CASE("TheLineCarriesEveryByteBothWaysAtOnce") {
  Emulator emulator(DWELLOG_ECHO_ELF);
  emulator.start();
  std::vector<std::uint8_t> sent(4096);
  for (std::size_t i = 0; i < sent.size(); ++i) {
    sent[i] = static_cast<std::uint8_t>(i * 7 + i / 256);
  }
  constexpr std::size_t kAtOnce = 256;  // less than the rings hold
  std::vector<std::uint8_t> came;
  std::array<std::uint8_t, kAtOnce> bytes{};
  pollfd entry{emulator.line(), POLLIN, 0};
  for (std::size_t out = 0; out < sent.size(); out += kAtOnce) {
    REQUIRE(::write(emulator.line(), sent.data() + out, kAtOnce) == kAtOnce);
    while (came.size() < out + kAtOnce && ::poll(&entry, 1, 5000) > 0) {
      const ssize_t count = ::read(emulator.line(), bytes.data(), bytes.size());
      REQUIRE(count > 0);
      came.insert(came.end(), bytes.begin(), bytes.begin() + count);
    }
  }
  CHECK(came == sent);
}

TEST_CASE("NoiseOnTheLineIsForgottenAfterASilence") {
  ImageBench bench;
  REQUIRE(bench.emulator.take_samples(1));
  const std::uint32_t seed = 4711;
  CAPTURE(seed);
  std::minstd_rand random(seed);
  std::vector<std::uint8_t> noise(5000);
  std::generate(noise.begin(), noise.end(),
                [&random] { return static_cast<std::uint8_t>(random() >> 8U); });
  REQUIRE(::write(bench.emulator.line(), noise.data(), noise.size()) ==
          static_cast<ssize_t>(noise.size()));
  bench.emulator.wait_until([&] { return bench.emulator.control().bytes_received == noise.size(); },
                            "the noise does not arrive");
  bench.emulator.let_pass(2 * firmware::target::BoxLoop::kSilenceMs);
  CHECK(bench.master.identity().held == 1);
  CHECK(bench.emulator.control().bytes_dropped == 0);
  CHECK(bench.emulator.control().last_status == 0);
}

TEST_CASE("AWiredBoxReadsItsSlabProbeAndSaysWhatDoesNotAnswer") {
  ImageBench bench(0, true);
  REQUIRE(take_sample_with_slab_probe(bench.emulator));
  const Sample sample = bench.master.live().sample;
  CHECK(sample.raw_counts == std::array<std::int16_t, 8>{0, 0, 0, 2010, 8500, 3707, 0, 0});
  CHECK(sample.statuses == std::array<std::uint8_t, 8>{2, 2, 2, 0, 0, 0, 1, 1});
  CHECK(sample.flags == 0);
  REQUIRE(bench.emulator.take_samples(1));  // nobody answers on the second line any more
  CHECK(bench.master.live().sample.statuses[4] == 2);
}

TEST_CASE("LidTiltAndLowSupplyOfAWiredBoxStandInItsRecord") {
  ImageBench bench(0, true);
  auto& control = bench.emulator.control();
  control.levels = firmware::target::kLidPin | firmware::target::kTiltPin;
  control.supply_counts = 2000;
  bench.emulator.let_pass(1100);
  control.levels = 0;
  bench.emulator.let_pass(100);
  REQUIRE(take_sample_with_slab_probe(bench.emulator));
  const LiveSample live = bench.master.live();
  CHECK(live.sample.flags == (kFlagLidOpen | kFlagTilted | kFlagSupplyLow));
  CHECK(live.sample.raw_counts[5] == 3223);
  CHECK(live.sample.statuses[5] == 0);
}

TEST_CASE("ALoopThatHangsIsRestartedAndNoRecordIsLost") {
  ImageBench bench;
  for (std::uint32_t sequence = 1; sequence <= 5; ++sequence) {
    REQUIRE(bench.take_sample(sample_for(1, sequence)));
  }
  auto& control = bench.emulator.control();
  control.watchdog_ms = 1000;
  bench.emulator.reset();
  bench.emulator.let_pass(2500);  // a loop that goes round is left alone
  CHECK(control.watchdog_resets == 0);
  CHECK(control.machine_starts == 2);
  const std::vector<BoxRecord> before = bench.all_records();
  CHECK(before.size() == 5);

  control.hangs_wanted = 1;
  bench.emulator.wait_for_start(3);
  CHECK(control.watchdog_resets == 1);
  CHECK(bench.master.identity().boot == 3);
  CHECK(bench.all_records() == before);
  REQUIRE(bench.take_sample(sample_for(3, 1)));
  CHECK(bench.master.identity().held == 6);
}

TEST_CASE("TheLineRunsAtTheBaudThatWasSet") {
  const auto [set, baud] = GENERATE(table<std::uint32_t, std::uint32_t>(
      {{0, 115200}, {115200, 115200}, {19200, 19200}, {1234, 115200}}));
  CAPTURE(set);
  ImageBench bench;
  bench.emulator.control().baud = set;
  bench.emulator.reset();
  CHECK(word_at(bench.emulator, machine::kUart0 + machine::kUartBaudDivider) ==
        machine::kCoreHz / baud);
  CHECK(bench.master.identity().boot == 2);
}

TEST_CASE("TheDriverOfTheLineIsOnForRepliesOnly") {
  ImageBench bench;
  auto& control = bench.emulator.control();
  control.baud = GENERATE(0U, firmware::target::kSlowBaud);
  bench.emulator.reset();
  CHECK(control.driver_enabled == 0);
  for (std::uint32_t reply = 1; reply <= 10; ++reply) {
    static_cast<void>(bench.master.identity());
    bench.emulator.wait_until([&] { return control.driver_releases == reply; },
                              "the driver stays on");
    CHECK(control.driver_enabled == 0);
  }
  const auto for_another_unit = bytes_from_hex("02 03 00 00 00 1c 44 30");
  REQUIRE(::write(bench.emulator.line(), for_another_unit.data(), for_another_unit.size()) == 8);
  bench.emulator.let_pass(50);
  CHECK(control.driver_releases == 10);
}

TEST_CASE("AWornOutBlockIsPassedOverAndTold") {
  ImageBench bench(kSmallBlocks + 2);
  auto& control = bench.emulator.control();
  control.faults.worn_block = 1 + 2;
  REQUIRE(bench.emulator.take_samples(kSlotsInBlock));
  CHECK(bench.master.live().sample.flags == 0);
  REQUIRE(bench.emulator.take_samples(8 * kSlotsInBlock));
  CHECK(bench.master.live().sample.flags == kFlagSelfTestFailed);
  CHECK(control.last_status == 0);
  const BoxIdentity identity = bench.master.identity();
  const LostBlock lost = bench.master.lost();
  REQUIRE(lost.count == 1);
  CHECK(lost.ranges[0].last + 1 == identity.oldest.sequence);
  CHECK(lost.total + identity.held == identity.newest.sequence);
  CHECK(identity.newest.sequence == 9 * kSlotsInBlock);
}
