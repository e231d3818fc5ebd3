// The logger's own master collects from the box on the emulated machine over a pseudo-terminal, in
// real time, through resets, kills and an overflow: every record once, every loss an exact range.
#include <fcntl.h>
#include <unistd.h>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/io_context.hpp>
#include <catch2/catch.hpp>
#include <cstdint>
#include <map>
#include <optional>
#include <vector>

#include "logger/app/daemon/real_clock.hpp"
#include "logger/ingest/box_reader.hpp"
#include "logger/ingest/serial_line.hpp"
#include "tests/target/emulator.hpp"
#include "tests/target/fake_ports.hpp"

using analysis::base::Record;
using analysis::base::RecordId;
using logger::ingest::BoxReader;
using logger::ingest::Harvest;
using logger::ingest::SerialLine;
using target_test::Emulator;

namespace {

constexpr std::uint32_t kSerial = 42;
constexpr std::size_t kMostRecords = 480;

struct Bench {
  Emulator emulator{DWELLOG_PROBE_BOX_ELF, Emulator::Line::pseudo_terminal};
  int held = -1;  // keeps the pseudo-terminal open between two masters

  explicit Bench(std::uint32_t blocks) {
    auto& control = emulator.control();
    control.serial = kSerial;
    control.flash_blocks = blocks;
    control.settle_ms = 3'600'000;
    start();
  }
  Bench(const Bench&) = delete;
  Bench& operator=(const Bench&) = delete;
  ~Bench() { ::close(held); }

  void start() {
    emulator.start();
    if (held >= 0) {
      ::close(held);
    }
    held = ::open(emulator.terminal().c_str(), O_RDWR | O_NOCTTY | O_CLOEXEC);
    // The emulator looks once a second whether somebody opened it.
    const auto ask = firmware::target::bytes_from_hex("01 03 00 00 00 1c 44 03");
    REQUIRE_FALSE(target_test::exchange_on(held, ask).empty());
  }
  void take_samples(int count) {
    for (int i = 0; i < count; ++i) {
      emulator.control().raw_counts[0] = static_cast<std::int16_t>(++taken);
      REQUIRE(emulator.take_samples(1));
    }
  }
  // One round of a daemon just started: collects after the last record known, keeps, releases.
  Harvest collect() {
    boost::asio::io_context loop;
    logger::app::RealClock clock(loop);
    SerialLine line(loop, clock, nullptr, {emulator.terminal(), 115200});
    BoxReader reader(line, clock, {"A", 1, kSerial});
    std::optional<Harvest> harvest;
    const auto round = [&]() -> boost::asio::awaitable<void> {
      std::optional<RecordId> after;
      if (!records.empty()) {
        after = records.rbegin()->first;
      }
      auto collected = co_await reader.collect(after, kMostRecords);
      if (collected) {
        harvest = std::move(collected).value();
        if (harvest->release_through) {
          released = (co_await reader.release(*harvest->release_through)).has_value();
        }
      } else {
        UNSCOPED_INFO(collected.error().context);
      }
      line.close();
    };
    boost::asio::co_spawn(loop, round, boost::asio::detached);
    loop.run_for(std::chrono::seconds(20));
    REQUIRE(harvest.has_value());
    for (const Record& record : harvest->records) {
      CHECK(records.emplace(record.id, record).second);
    }
    return *harvest;
  }

  std::map<RecordId, Record> records;
  bool released = false;
  int taken = 0;
};

}  // namespace

TEST_CASE("TheLoggerCollectsEveryRecordOnceThroughResetAndKill") {
  Bench bench(0);
  bench.take_samples(12);
  Harvest harvest = bench.collect();
  CHECK(bench.released);
  CHECK(harvest.exchange.first == 1);
  CHECK(bench.records.size() == 12);
  CHECK(harvest.gaps.empty());

  bench.take_samples(3);
  bench.emulator.reset();
  bench.take_samples(2);
  harvest = bench.collect();
  CHECK(harvest.rebooted);
  CHECK(bench.records.size() == 17);

  bench.take_samples(4);
  bench.emulator.kill();
  bench.start();
  bench.take_samples(1);
  harvest = bench.collect();
  CHECK(harvest.exchange.first == 3);
  CHECK(harvest.records.size() == 5);
  CHECK(harvest.gaps.empty());

  int expected = 0;
  for (const auto& [id, record] : bench.records) {
    CHECK(record.raw_counts[0] == ++expected);
  }
  CHECK(expected == bench.taken);
  harvest = bench.collect();
  CHECK(harvest.records.empty());
  CHECK_FALSE(harvest.release_through);
}

TEST_CASE("TheLoggerLearnsTheExactRangeThatAFullBoxLost") {
  Bench bench(4);
  REQUIRE(bench.emulator.take_samples(400));
  const Harvest harvest = bench.collect();
  REQUIRE(harvest.gaps.size() == 1);
  CHECK(harvest.gaps[0].reason == logger::store::GapReason::overflow);
  CHECK(harvest.gaps[0].first_sequence == 1);
  CHECK(harvest.gaps[0].last_sequence + 1 == bench.records.begin()->first.sequence);
  CHECK(bench.records.rbegin()->first.sequence == 400);
  CHECK(static_cast<std::int64_t>(bench.records.size()) + harvest.gaps[0].last_sequence == 400);
}
