#include "tests/benchmarks/big_store.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace benchmarks {
namespace {

using analysis::base::ChannelStatus;
using analysis::base::ClockExchange;
using analysis::base::Micros;
using logger::store::Failure;
using logger::store::Result;

constexpr std::uint32_t kBoot = 1;
constexpr std::int64_t kRecordsPerCommit = 10'000;

// Noise of a few counts from the identity alone (a 64 bit mixing step).
std::int32_t noise(std::size_t box, std::int64_t sequence, int channel) {
  std::uint64_t x = static_cast<std::uint64_t>(sequence) * 0x9e3779b97f4a7c15ULL +
                    static_cast<std::uint64_t>(box) * 8U + static_cast<std::uint64_t>(channel);
  x = (x ^ (x >> 30U)) * 0xbf58476d1ce4e5b9ULL;
  return static_cast<std::int32_t>((x >> 40U) % 9U) - 4;
}

std::int32_t counts(double value) { return static_cast<std::int32_t>(std::lround(value)); }

}  // namespace

Record sample_record(std::size_t box, std::int64_t sequence) {
  Record record;
  record.id = {kBoot, sequence};
  record.ticks_ms = sequence * kSampleIntervalMs;
  const double day = static_cast<double>(sequence) / 1440.0;
  const double swing = std::sin(2.0 * std::numbers::pi * day);
  const double drying = std::exp(-day / 60.0);
  const double values[kFittedChannels] = {2000.0 + 150.0 * swing,   5200.0 - 300.0 * swing,
                                          1950.0 + 60.0 * swing,    1700.0 + 80.0 * swing,
                                          7500.0 + 1700.0 * drying, 12'400.0 - 2.0 * day};
  record.statuses.fill(ChannelStatus::not_fitted);
  for (int channel = 0; channel < kFittedChannels; ++channel) {
    const auto index = static_cast<std::size_t>(channel);
    record.statuses[index] = ChannelStatus::ok;
    record.raw_counts[index] = counts(values[index]) + noise(box, sequence, channel);
  }
  return record;
}

BoxBatch sample_batch(const std::string& box_id, std::size_t box, std::int64_t first,
                      std::int64_t count) {
  BoxBatch batch;
  batch.box_id = box_id;
  batch.records.reserve(static_cast<std::size_t>(count));
  for (std::int64_t sequence = first; sequence < first + count; ++sequence) {
    batch.records.push_back(sample_record(box, sequence));
    if (sequence % kRecordsPerExchange == 0) {
      const std::int64_t ticks_ms = sequence * kSampleIntervalMs + 500;
      batch.exchanges.emplace_back(
          kBoot, ClockExchange{ticks_ms, kSiteStart + Micros{ticks_ms * 1000}, Micros{20'000}});
    }
  }
  return batch;
}

Result<void> make_big_store(const std::string& path, const std::vector<std::string>& box_ids,
                            std::int64_t records_per_box) {
  const auto store = logger::store::open_sqlite_store(path, {.create = true});
  if (!store) {
    return Failure{store.error()};
  }
  if (Result<void> marked = store.value()->mark_simulated(true); !marked) {
    return marked;
  }
  for (std::int64_t first = 1; first <= records_per_box; first += kRecordsPerCommit) {
    const std::int64_t count = std::min(kRecordsPerCommit, records_per_box - first + 1);
    for (std::size_t box = 0; box < box_ids.size(); ++box) {
      const auto done =
          store.value()->commit({.boxes = {sample_batch(box_ids[box], box, first, count)}});
      if (!done) {
        return Failure{done.error()};
      }
    }
  }
  return {};
}

std::vector<std::string> numbered_boxes(std::size_t count) {
  std::vector<std::string> ids;
  for (std::size_t box = 1; box <= count; ++box) {
    ids.push_back("box-" + std::to_string(box));
  }
  return ids;
}

}  // namespace benchmarks
