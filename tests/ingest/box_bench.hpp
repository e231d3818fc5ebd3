// A real probe box (firmware-sim/core) behind the line of a LineBench, and a store in memory that
// collects from it as the daemon does.
#pragma once

#include <algorithm>
#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <vector>

#include "firmware-sim/core/probe_box.hpp"
#include "logger/ingest/box_reader.hpp"
#include "tests/ingest/line_bench.hpp"

namespace ingest_test {

using analysis::base::Record;
using analysis::base::RecordId;
using logger::ingest::BoxReader;
using logger::ingest::Harvest;

inline constexpr std::uint64_t kSerial = 0x1122334455667788U;

class RamFlash final : public firmware::core::NonVolatileMemory {
 public:
  explicit RamFlash(std::size_t blocks) : bytes_(blocks * kBlock, 0xff) {}
  [[nodiscard]] std::size_t size() const override { return bytes_.size(); }
  [[nodiscard]] std::size_t block_size() const override { return kBlock; }
  firmware::core::Status read(std::size_t offset, std::span<std::uint8_t> into) const override {
    std::copy_n(bytes_.begin() + static_cast<std::ptrdiff_t>(offset), into.size(), into.begin());
    return firmware::core::Status::ok;
  }
  firmware::core::Status program(std::size_t offset, std::span<const std::uint8_t> from) override {
    for (std::size_t i = 0; i < from.size(); ++i) {
      bytes_[offset + i] = static_cast<std::uint8_t>(bytes_[offset + i] & from[i]);
    }
    return firmware::core::Status::ok;
  }
  firmware::core::Status erase(std::size_t block) override {
    std::fill_n(bytes_.begin() + static_cast<std::ptrdiff_t>(block * kBlock), kBlock,
                std::uint8_t{0xff});
    return firmware::core::Status::ok;
  }

 private:
  static constexpr std::size_t kBlock = 1024;
  std::vector<std::uint8_t> bytes_;
};

struct BoxBench : LineBench {
  explicit BoxBench(std::size_t flash_blocks = 16)
      : flash(flash_blocks),
        box(flash, {1, kSerial, 6, 60}),
        reader(line, clock, {"A", 1, kSerial}) {
    boot();
    device.honest = [this](const Bytes& request) {
      box.set_ticks(ticks_now());
      Bytes reply(firmware::core::kMaxRtuFrame);
      std::size_t length = 0;
      static_cast<void>(box.answer(request, reply, length));
      reply.resize(length);
      return reply;
    };
  }

  void boot() {
    booted_at = clock.monotonic_now();
    if (box.start() != firmware::core::Status::ok) {
      throw std::runtime_error("the box does not start");
    }
  }
  [[nodiscard]] std::uint64_t ticks_now() const {
    return static_cast<std::uint64_t>((clock.monotonic_now() - booted_at).count() / 1000);
  }
  // Takes `count` samples, a minute apart.
  void take_samples(std::size_t count) {
    for (std::size_t i = 0; i < count; ++i) {
      clock.advance(std::chrono::minutes(1));
      box.set_ticks(ticks_now());
      firmware::core::Sample sample;
      sample.raw_counts[0] = static_cast<std::int16_t>(2000 + box.sequence());
      if (box.store_sample(sample) != firmware::core::Status::ok) {
        throw std::runtime_error("the box stores nothing");
      }
    }
  }

  logger::store::Result<Harvest> collect(std::optional<RecordId> after, std::size_t most = 1000) {
    return run(reader.collect(after, most));
  }

  // Collects from where the store is, commits and releases. Any error ends it.
  logger::store::Result<void> cycle(std::size_t most = 1000) {
    std::optional<RecordId> after;
    if (!stored.empty()) {
      after = stored.rbegin()->first;
    }
    auto harvest = collect(after, most);
    if (!harvest) {
      return logger::store::Failure{harvest.error()};
    }
    for (const Record& record : harvest.value().records) {
      twice += stored.emplace(record.id, record).second ? 0 : 1;
    }
    const auto& found = harvest.value().gaps;
    gaps.insert(gaps.end(), found.begin(), found.end());
    if (!harvest.value().release_through) {
      return {};
    }
    return run(reader.release(*harvest.value().release_through));
  }

  RamFlash flash;
  firmware::core::ProbeBox box;
  BoxReader reader;
  Micros booted_at{0};
  std::map<RecordId, Record> stored;
  std::vector<logger::store::Gap> gaps;
  int twice = 0;
};

inline std::vector<std::int64_t> sequences_of(const std::vector<Record>& records) {
  std::vector<std::int64_t> sequences;
  for (const Record& record : records) {
    sequences.push_back(record.id.sequence);
  }
  return sequences;
}

inline std::vector<std::int64_t> count_from_to(std::int64_t first, std::int64_t last) {
  std::vector<std::int64_t> sequences;
  for (std::int64_t i = first; i <= last; ++i) {
    sequences.push_back(i);
  }
  return sequences;
}

}  // namespace ingest_test
