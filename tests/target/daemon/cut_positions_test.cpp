// The power is cut at every unit that a run of the box writes, over start, samples, a change of
// block and releases, while the logger's own reader collects. DWELLOG_LONG=1: every one of them,
// else each kStride-th.
#include <fcntl.h>
#include <unistd.h>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/io_context.hpp>
#include <catch2/catch.hpp>
#include <cstdint>
#include <cstdlib>
#include <iostream>
#include <map>
#include <optional>
#include <random>
#include <set>

#include "logger/app/daemon/real_clock.hpp"
#include "logger/ingest/box_reader.hpp"
#include "logger/ingest/serial_line.hpp"
#include "tests/target/emulator.hpp"
#include "tests/target/fake_ports.hpp"

using analysis::base::Record;
using analysis::base::RecordId;
using firmware::target::BoxState;
using logger::ingest::BoxReader;
using logger::ingest::SerialLine;
using target_test::Emulator;

namespace {

constexpr std::uint32_t kSerial = 42;
constexpr std::uint32_t kBlocks = 5;
constexpr std::uint32_t kSlotsInBlock = 89;
constexpr std::uint32_t kStride = 11;

class Campaign {
 public:
  Campaign() {
    held_ = ::open(emulator_.terminal().c_str(), O_RDWR | O_NOCTTY | O_CLOEXEC);
    const auto ask = firmware::target::bytes_from_hex("01 03 00 00 00 1c 44 03");
    REQUIRE_FALSE(target_test::exchange_on(held_, ask).empty());
    // Up to three slots before the end of a block, all but the last records released.
    for (std::uint32_t i = 0; i < kSlotsInBlock - 5; ++i) {
      REQUIRE(take_sample());
    }
    REQUIRE(collect_and_release());
    REQUIRE(take_sample());
    base_ = emulator_.flash_image(kBlocks);
    base_committed_ = committed_;
    base_acknowledged_ = acknowledged_;
  }
  Campaign(const Campaign&) = delete;
  Campaign& operator=(const Campaign&) = delete;
  ~Campaign() { ::close(held_); }

  // One run from the same state; false when it ended before the cut.
  bool run_with_cut(std::uint32_t unit, std::uint32_t tear_mask) {
    emulator_.restore_flash(base_);
    committed_ = base_committed_;
    acknowledged_ = base_acknowledged_;
    auto& faults = emulator_.control().faults;
    faults.tear_mask = tear_mask;
    faults.cut_countdown = unit;
    cut_ = false;
    recover(emulator_.reset_unless_cut());
    for (int round = 0; round < 3; ++round) {
      for (int i = 0; i < 3; ++i) {
        recover(take_sample());
      }
      recover(collect_and_release());
    }
    faults.cut_countdown = 0;
    REQUIRE(collect_and_release());
    require_nothing_lost_or_twice();
    REQUIRE(faults.rule_breaks == 0);
    return cut_;
  }

 private:
  void recover(bool done) {
    if (!done) {
      REQUIRE(emulator_.state() == BoxState::power_lost);
      cut_ = true;
      emulator_.reset();
    }
  }
  bool take_sample() {
    emulator_.control().raw_counts[0] = static_cast<std::int16_t>(++last_number_);
    const bool taken = emulator_.take_samples(1);
    if (taken) {
      acknowledged_.insert(last_number_);
    }
    return taken;
  }

  // A round of a logger just started: what it knows is what is committed. False: the power failed.
  bool collect_and_release() {
    BoxReader reader(line_, clock_, {"A", 1, kSerial});
    std::optional<RecordId> after;
    if (!committed_.empty()) {
      after = committed_.rbegin()->first;
    }
    bool collected = false;
    bool released = false;
    bool done = false;
    const auto round = [&]() -> boost::asio::awaitable<void> {
      auto harvest = co_await reader.collect(after, 480);
      if (harvest) {
        collected = true;
        REQUIRE(harvest.value().gaps.empty());
        for (const Record& record : harvest.value().records) {
          REQUIRE(committed_.emplace(record.id, record.raw_counts[0]).second);
        }
        released = !harvest.value().release_through ||
                   (co_await reader.release(*harvest.value().release_through)).has_value();
      }
      done = true;
    };
    boost::asio::co_spawn(loop_, round, boost::asio::detached);
    loop_.restart();
    while (!done) {
      loop_.run_one();
    }
    const bool powered = emulator_.state() != BoxState::power_lost;
    REQUIRE((collected && released) == powered);
    return powered;
  }

  void require_nothing_lost_or_twice() const {
    std::set<int> numbers;
    for (const auto& [id, number] : committed_) {
      CAPTURE(id.boot, id.sequence, number);
      REQUIRE(numbers.insert(number).second);
    }
    for (const int number : acknowledged_) {
      CAPTURE(number);
      REQUIRE(numbers.contains(number));
    }
  }

  struct RunningBox : Emulator {
    RunningBox() : Emulator(DWELLOG_PROBE_BOX_ELF, Line::pseudo_terminal) {
      control().serial = kSerial;
      control().flash_blocks = kBlocks;
      control().settle_ms = 3'600'000;
      start();
    }
  };

  RunningBox emulator_;
  int held_ = -1;
  boost::asio::io_context loop_;
  logger::app::RealClock clock_{loop_};
  SerialLine line_{loop_, clock_, nullptr, {emulator_.terminal(), 115200}};
  int last_number_ = 0;
  std::map<RecordId, int> committed_;
  std::set<int> acknowledged_;
  std::vector<std::uint8_t> base_;
  std::map<RecordId, int> base_committed_;
  std::set<int> base_acknowledged_;
  bool cut_ = false;
};

}  // namespace

TEST_CASE("PowerCutAtEveryUnitOfARunLosesAndRepeatsNothing") {
  const std::uint32_t seed = 20260302;
  CAPTURE(seed);
  std::minstd_rand random(seed);
  const std::uint32_t stride = std::getenv("DWELLOG_LONG") != nullptr ? 1 : kStride;
  Campaign campaign;
  std::uint32_t unit = 1 + static_cast<std::uint32_t>(random()) % stride;
  std::uint32_t cuts = 0;
  for (; campaign.run_with_cut(unit, static_cast<std::uint32_t>(random()) & 0xffU);
       unit += stride) {
    ++cuts;
    CAPTURE(unit);
  }
  std::cout << cuts << " cuts, a run writes at least " << unit - stride << " units\n";
  // A boot, nine samples, a change of block of 16 erase units and 140 bytes, two releases.
  CHECK(unit > 9 * 42 + 16 + 140);
}
