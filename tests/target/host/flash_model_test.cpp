#include "firmware-sim/target/flash_model.hpp"

#include <array>
#include <catch2/catch.hpp>
#include <cstdint>
#include <memory>
#include <vector>

#include "firmware-sim/core/record_ring.hpp"

using namespace firmware::core;
using firmware::target::FlashFaults;
using firmware::target::FlashModel;
using firmware::target::kFlashBlockBytes;
using firmware::target::PowerLoss;

namespace {

struct CountedLoss final : PowerLoss {
  void power_lost() override { ++count; }
  int count = 0;
};

// The part outlives its power: power_up() gives a model anew over the same cells.
struct Bench {
  explicit Bench(std::size_t blocks) : cells(blocks * kFlashBlockBytes), erases(blocks, 0) {
    power_up().manufacture();
  }
  Bench(const Bench& other) : cells(other.cells), erases(other.erases) { power_up(); }
  FlashModel& power_up() {
    models.push_back(std::make_unique<FlashModel>(FlashModel::Part{cells, erases, faults}, power));
    return *models.back();
  }
  FlashModel& flash() { return *models.back(); }
  std::uint8_t byte(std::size_t at) {
    std::array<std::uint8_t, 1> bytes{};
    REQUIRE(flash().read(at, bytes) == Status::ok);
    return bytes[0];
  }

  std::vector<std::uint8_t> cells;
  std::vector<std::uint32_t> erases;
  FlashFaults faults{};
  CountedLoss power;
  std::vector<std::unique_ptr<FlashModel>> models;
};

BoxRecord record_for(std::uint32_t boot, std::uint32_t sequence) {
  BoxRecord record{.boot = boot, .sequence = sequence, .ticks_ms = sequence * 60000U, .sample = {}};
  record.sample.raw_counts.fill(static_cast<std::int16_t>(sequence));
  return record;
}

}  // namespace

TEST_CASE("ProgrammingOnlyClearsBits") {
  Bench bench(2);
  const std::array<std::uint8_t, 2> first{0xf0, 0x3c};
  CHECK(bench.flash().program(10, first) == Status::ok);
  CHECK(bench.byte(10) == 0xf0);
  CHECK(bench.byte(11) == 0x3c);
  CHECK(bench.faults.rule_breaks == 0);

  const std::array<std::uint8_t, 2> second{0x3f, 0x0c};
  CHECK(bench.flash().program(10, second) == Status::memory_fault);
  CHECK(bench.byte(10) == 0x30);
  CHECK(bench.byte(11) == 0x0c);
  CHECK(bench.faults.rule_breaks == 1);
  CHECK(bench.faults.units_written == 4);
}

TEST_CASE("ErasingSetsOneBlockAndWearsIt") {
  Bench bench(3);
  const std::array<std::uint8_t, 1> zero{0};
  for (const std::size_t at : {kFlashBlockBytes - 1, kFlashBlockBytes, 2 * kFlashBlockBytes}) {
    REQUIRE(bench.flash().program(at, zero) == Status::ok);
  }
  REQUIRE(bench.flash().erase(1) == Status::ok);
  CHECK(bench.byte(kFlashBlockBytes - 1) == 0);
  CHECK(bench.byte(kFlashBlockBytes) == 0xff);
  CHECK(bench.byte(2 * kFlashBlockBytes) == 0);
  CHECK(bench.erases == std::vector<std::uint32_t>{0, 1, 0});
}

TEST_CASE("WhatIsOutsideThePartIsRefused") {
  Bench bench(2);
  std::array<std::uint8_t, 2> bytes{};
  CHECK(bench.flash().read(bench.flash().size() - 1, bytes) == Status::invalid_argument);
  CHECK(bench.flash().program(bench.flash().size() - 1, bytes) == Status::invalid_argument);
  CHECK(bench.flash().read(~std::size_t{0}, bytes) == Status::invalid_argument);
  CHECK(bench.flash().erase(2) == Status::invalid_argument);
  CHECK(bench.flash().read(bench.flash().size() - 2, bytes) == Status::ok);
}

TEST_CASE("TheCutTearsTheUnitItFallsOnAndNothingWorksAfterIt") {
  Bench bench(2);
  bench.faults.cut_countdown = 2;
  bench.faults.tear_mask = 0x0f;
  const std::array<std::uint8_t, 3> zeros{};
  CHECK(bench.flash().program(0, zeros) == Status::memory_fault);
  CHECK(bench.power.count == 1);
  std::array<std::uint8_t, 1> byte{};
  CHECK(bench.flash().read(0, byte) == Status::memory_fault);
  CHECK(bench.flash().program(9, byte) == Status::memory_fault);
  CHECK(bench.flash().erase(0) == Status::memory_fault);
  CHECK(bench.faults.units_written == 1);

  bench.power_up();
  CHECK(bench.byte(0) == 0x00);
  CHECK(bench.byte(1) == 0x0f);  // torn: the masked bits had no time
  CHECK(bench.byte(2) == 0xff);
  CHECK(bench.byte(9) == 0xff);
}

TEST_CASE("ACutInAnEraseLeavesPartOfTheBlock") {
  Bench bench(2);
  const std::vector<std::uint8_t> zeros(kFlashBlockBytes, 0);
  REQUIRE(bench.flash().program(0, zeros) == Status::ok);
  bench.faults.cut_countdown = 3;
  bench.faults.tear_mask = 0xf0;
  CHECK(bench.flash().erase(0) == Status::memory_fault);
  bench.power_up();
  CHECK(bench.byte(2 * FlashModel::kEraseUnit - 1) == 0xff);
  CHECK(bench.byte(2 * FlashModel::kEraseUnit) == 0x0f);
  CHECK(bench.byte(3 * FlashModel::kEraseUnit) == 0x00);
  CHECK(bench.erases[0] == 1);
}

// The last record of a full block, then one that opens the next block over the oldest: every unit
// of both, torn in three ways.
TEST_CASE("ACutAtAnyUnitOfABlockChangeLosesNothingAcknowledged") {
  Bench full(3);
  std::uint32_t sequence = 0;
  std::uint32_t lost = 0;
  {
    RecordRing ring(full.flash());
    REQUIRE(ring.start() == Status::ok);
    const std::uint32_t slots = 3 * ring.slots_per_block();
    while (ring.next_ordinal() + 2 < slots) {
      REQUIRE(ring.append(record_for(1, ++sequence)) == Status::ok);
    }
    REQUIRE(ring.release_through(ring.next_ordinal() - 3) == Status::ok);
    lost = ring.lost().total;
  }
  std::uint32_t units = 0;
  int cuts = 0;
  for (std::uint32_t cut = 1; units == 0; ++cut) {
    for (const std::uint32_t mask : {0x00U, 0x5aU, 0xffU}) {
      CAPTURE(cut, mask);
      Bench bench(full);
      bench.faults.cut_countdown = cut;
      bench.faults.tear_mask = mask;
      std::uint32_t stored = sequence;
      {
        RecordRing ring(bench.flash());
        Status status = ring.start();
        while (status == Status::ok && stored < sequence + 3) {
          status = ring.append(record_for(ring.boot(), stored + 1));
          stored += status == Status::ok ? 1 : 0;
        }
      }
      cuts += bench.power.count;
      units = bench.power.count == 0 ? bench.faults.units_written : 0;
      bench.faults.cut_countdown = 0;
      RecordRing ring(bench.power_up());
      REQUIRE(ring.start() == Status::ok);
      REQUIRE(bench.faults.rule_breaks == 0);
      std::array<BoxRecord, 8> records{};
      std::size_t count = 0;
      REQUIRE(ring.read(ring.first_held(), records, count) == Status::ok);
      REQUIRE(count >= 2 + (stored - sequence));
      REQUIRE(count <= 2 + (stored - sequence) + 1);  // the torn one may have got in whole
      for (std::size_t i = 0; i < count; ++i) {
        REQUIRE(records[i].sequence == sequence - 1 + i);
        REQUIRE(records[i].sample == record_for(1, records[i].sequence).sample);
      }
      REQUIRE(ring.lost().total == lost);
    }
  }
  CHECK(units > 16 + 140 + 3 * 42);
  CHECK(cuts == 3 * static_cast<int>(units));
}
