// What the registers of a probe box say, in the logger's types, and which records are missing
// between those that came. Pure; any thread. Sequences are never assumed to be contiguous.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "analysis/base/record.hpp"
#include "firmware-sim/core/record_codec.hpp"
#include "logger/store/error.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::ingest {

using analysis::base::Record;
using analysis::base::RecordId;

struct BoxIdentity {
  std::uint64_t serial = 0;
  std::uint16_t firmware = 0;  // major * 256 + minor
  std::uint16_t fitted_channels = 0;
  std::uint32_t sample_interval_s = 0;
  std::uint32_t boot = 0;     // of the running boot
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

// Errors: unsupported (not a probe box, or another version of its register map); corrupt
// (impossible values, a wrong number of registers).
[[nodiscard]] store::Result<BoxIdentity> identity_from_registers(
    firmware::core::RegisterView registers);
[[nodiscard]] store::Result<std::vector<SequenceRange>> lost_from_registers(
    firmware::core::RegisterView registers);
// In the order they were taken; nullopt = a record that can't be believed, its CRC-32 is wrong.
[[nodiscard]] store::Result<std::vector<std::optional<Record>>> window_from_registers(
    firmware::core::RegisterView registers);

// nullopt when `id` can't be a record of a box.
[[nodiscard]] std::optional<firmware::core::RecordKey> key_from_id(RecordId id);

struct Hole {
  SequenceRange range;
  bool corrupt = false;  // records were there, but could not be believed; else none was there
  bool operator==(const Hole&) const = default;
};

// Follows records in the order the box gives them and names the holes between them.
class RecordSequence {
 public:
  // `after`: the last record known before; nullopt = nothing is known of what came before the
  // first.
  explicit RecordSequence(std::optional<RecordId> after) : after_(after), last_(after) {}

  // nullopt = a record that can't be believed. Records up to `after`, and repeats, are left out.
  void add(const std::optional<Record>& record);
  [[nodiscard]] const std::vector<Record>& records() const { return records_; }  // increasing by id
  [[nodiscard]] const std::vector<Hole>& holes() const { return holes_; }        // increasing

  // All losses, none overlapping another or a record that came: `overflowed` as the box reports it
  // (anything up to `after` is known already and left out), and the holes beside them.
  [[nodiscard]] std::vector<store::Gap> gaps(std::span<const SequenceRange> overflowed) const;

 private:
  void note_hole(std::uint32_t boot, std::int64_t first, std::int64_t last, bool corrupt);
  void note_holes_before(RecordId next);

  std::optional<RecordId> after_;
  std::optional<RecordId> last_;
  std::int64_t unbelievable_ = 0;  // in a row since last_
  std::vector<Record> records_;
  std::vector<Hole> holes_;
};

}  // namespace logger::ingest
