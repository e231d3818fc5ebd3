// What the registers of a probe box say, decoded: the only place of the logger that knows the
// register map. Pure; any thread. Sequences are never assumed to be contiguous.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "analysis/base/record.hpp"
#include "logger/store/error.hpp"

namespace logger::ingest {

using analysis::base::Record;
using analysis::base::RecordId;

struct BoxIdentity {
  std::uint64_t serial = 0;
  std::uint16_t firmware = 0;  // major * 256 + minor
  std::uint16_t fitted_channels = 0;
  std::uint32_t sample_interval_s = 0;
  std::uint32_t boot = 0;
  std::int64_t ticks_ms = 0;  // since this boot, when it answered
  std::uint32_t held = 0;     // records in the ring
  std::uint32_t capacity = 0;
  RecordId oldest;  // {0, 0} = none held
  RecordId newest;
};

// Records first..last of one boot, both included.
struct SequenceRange {
  std::uint32_t boot = 0;
  std::int64_t first = 0;
  std::int64_t last = 0;
  bool operator==(const SequenceRange&) const = default;
};

struct LostBlock {
  std::uint32_t total = 0;  // records lost since manufacture
  std::vector<SequenceRange> ranges;
};

// Records in the order they were taken; nullopt = its CRC-32 is wrong.
struct Window {
  std::vector<std::optional<Record>> records;
};

// Errors: unsupported (magic, map version); corrupt (impossible values).
// REQUIRES: as many registers as the block has.
[[nodiscard]] store::Result<BoxIdentity> identity_from_registers(
    std::span<const std::uint16_t> registers);
[[nodiscard]] store::Result<LostBlock> lost_from_registers(
    std::span<const std::uint16_t> registers);
[[nodiscard]] store::Result<Window> window_from_registers(std::span<const std::uint16_t> registers);

// Registers of a select or release command. nullopt when `id` can't be a record of a box.
[[nodiscard]] std::optional<std::array<std::uint16_t, 4>> command_from_id(RecordId id);

}  // namespace logger::ingest
