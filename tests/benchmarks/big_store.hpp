// Stores filled with records of a plausible site, for benchmarks. Deterministic: the same arguments
// give the same records.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "logger/store/reading_store.hpp"

namespace benchmarks {

using logger::store::BoxBatch;
using logger::store::Record;
using logger::store::UtcMicros;

inline constexpr int kFittedChannels = 6;
inline constexpr std::int64_t kSampleIntervalMs = 60'000;
inline constexpr std::int64_t kRecordsPerExchange = 5;  // one clock exchange every five minutes

// When every box of such a site booted: 2026-01-05T06:00:00Z.
inline constexpr UtcMicros kSiteStart{1'767'592'800'000'000};

// Record number `sequence` (from 1) of box number `box`: boot 1, one a minute, six channels: air
// temperature and RH, core, surface, slab RH in hundredths of celsius and of percent, supply in mV.
[[nodiscard]] Record sample_record(std::size_t box, std::int64_t sequence);

// Records first..first + count - 1 of a box and the clock exchanges that fall among them.
[[nodiscard]] BoxBatch sample_batch(const std::string& box_id, std::size_t box, std::int64_t first,
                                    std::int64_t count);

// Makes a new store, marked as simulated, holding records_per_box records of each box.
// REQUIRES: there is no file at `path`.
[[nodiscard]] logger::store::Result<void> make_big_store(const std::string& path,
                                                         const std::vector<std::string>& box_ids,
                                                         std::int64_t records_per_box);

// "box-1" ... "box-n".
[[nodiscard]] std::vector<std::string> numbered_boxes(std::size_t count);

}  // namespace benchmarks
