#include "logger/ingest/box_records.hpp"

#include <algorithm>
#include <limits>
#include <string>
#include <utility>

#include "firmware-sim/core/wire_format.hpp"

namespace logger::ingest {

namespace core = firmware::core;
using analysis::base::ChannelStatus;
using store::ErrorCode;
using store::failure;
using store::GapReason;

namespace {

static_assert(core::kChannels == analysis::base::kMaxChannels);

RecordId id_from_key(core::RecordKey key) { return {key.boot, key.sequence}; }

// A status this version does not know is no reason to believe the value.
ChannelStatus status_from_wire(std::uint8_t status) {
  return status <= static_cast<std::uint8_t>(ChannelStatus::fault)
             ? static_cast<ChannelStatus>(status)
             : ChannelStatus::fault;
}

bool fits_int64(std::uint64_t value) {
  return value <= static_cast<std::uint64_t>(std::numeric_limits<std::int64_t>::max());
}

std::optional<Record> record_from_registers(core::RegisterView registers) {
  core::BoxRecord wire;
  if (core::decode_record(registers, wire) != core::DecodeStatus::ok ||
      !fits_int64(wire.ticks_ms)) {
    return std::nullopt;
  }
  Record record;
  record.id = id_from_key(wire.key());
  record.ticks_ms = static_cast<std::int64_t>(wire.ticks_ms);
  record.flags = wire.sample.flags;
  for (std::size_t i = 0; i < core::kChannels; ++i) {
    record.statuses[i] = status_from_wire(wire.sample.statuses[i]);
    record.raw_counts[i] = wire.sample.raw_counts[i];
  }
  return record;
}

SequenceRange range_of(std::uint32_t boot, std::int64_t first, std::int64_t last) {
  return {boot, first, last};
}

// The parts of `range` that no id of `taken` (increasing) covers.
std::vector<SequenceRange> parts_without(SequenceRange range,
                                         std::span<const SequenceRange> taken) {
  std::vector<SequenceRange> parts;
  for (const SequenceRange& cut : taken) {
    if (cut.boot != range.boot || cut.last < range.first || cut.first > range.last) {
      continue;
    }
    if (cut.first > range.first) {
      parts.push_back(range_of(range.boot, range.first, cut.first - 1));
    }
    range.first = cut.last + 1;
  }
  if (range.first <= range.last) {
    parts.push_back(range);
  }
  return parts;
}

// Runs of consecutive ids. `records`: increasing by id.
std::vector<SequenceRange> runs_of(std::span<const Record> records) {
  std::vector<SequenceRange> runs;
  for (const Record& record : records) {
    const RecordId id = record.id;
    if (!runs.empty() && runs.back().boot == id.boot && runs.back().last + 1 == id.sequence) {
      runs.back().last = id.sequence;
    } else {
      runs.push_back(range_of(id.boot, id.sequence, id.sequence));
    }
  }
  return runs;
}

store::Gap gap_from_range(const SequenceRange& range, GapReason reason) {
  store::Gap gap;
  gap.boot = range.boot;
  gap.first_sequence = range.first;
  gap.last_sequence = range.last;
  gap.reason = reason;
  return gap;
}

bool before(const SequenceRange& a, const SequenceRange& b) {
  return std::pair(a.boot, a.first) < std::pair(b.boot, b.first);
}

// The same ids, each in one range only. `ranges`: sorted by `before`.
std::vector<SequenceRange> without_overlap(std::span<const SequenceRange> ranges) {
  std::vector<SequenceRange> parts;
  for (SequenceRange range : ranges) {
    if (!parts.empty() && parts.back().boot == range.boot) {
      range.first = std::max(range.first, parts.back().last + 1);
    }
    if (range.first <= range.last) {
      parts.push_back(range);
    }
  }
  return parts;
}

}  // namespace

store::Result<BoxIdentity> identity_from_registers(core::RegisterView registers) {
  core::BoxIdentity wire;
  switch (core::decode_identity(registers, wire)) {
    case core::DecodeStatus::ok:
      break;
    case core::DecodeStatus::wrong_magic:
      return failure(ErrorCode::unsupported, "the device is no probe box");
    case core::DecodeStatus::wrong_version:
      return failure(ErrorCode::unsupported,
                     "register map version " + std::to_string(wire.map_version) +
                         " is not known, expected " + std::to_string(core::kMapVersion));
    default:
      return failure(ErrorCode::corrupt, "the identity block holds impossible values");
  }
  if (!fits_int64(wire.ticks_ms)) {
    return failure(ErrorCode::corrupt, "the identity block holds impossible ticks");
  }
  return BoxIdentity{wire.serial,
                     wire.firmware,
                     wire.fitted_channels,
                     wire.sample_interval_s,
                     wire.boot,
                     static_cast<std::int64_t>(wire.ticks_ms),
                     wire.held,
                     wire.capacity,
                     id_from_key(wire.oldest),
                     id_from_key(wire.newest)};
}

store::Result<std::vector<SequenceRange>> lost_from_registers(core::RegisterView registers) {
  core::LostBlock wire;
  if (core::decode_lost(registers, wire) != core::DecodeStatus::ok) {
    return failure(ErrorCode::corrupt, "the block of lost ranges holds impossible values");
  }
  std::vector<SequenceRange> ranges;
  for (std::size_t i = 0; i < wire.count; ++i) {
    ranges.push_back(range_of(wire.ranges[i].boot, wire.ranges[i].first, wire.ranges[i].last));
  }
  return ranges;
}

store::Result<std::vector<std::optional<Record>>> window_from_registers(
    core::RegisterView registers) {
  std::size_t count = 0;
  if (core::decode_window_count(registers, count) != core::DecodeStatus::ok) {
    return failure(ErrorCode::corrupt, "a record window holds an impossible count");
  }
  std::vector<std::optional<Record>> records;
  for (std::size_t i = 0; i < count; ++i) {
    records.push_back(record_from_registers(core::window_record(registers, i)));
  }
  return records;
}

std::optional<core::RecordKey> key_from_id(RecordId id) {
  if (id.boot == 0 || id.sequence < 1 || id.sequence > std::numeric_limits<std::uint32_t>::max()) {
    return std::nullopt;
  }
  return core::RecordKey{id.boot, static_cast<std::uint32_t>(id.sequence)};
}

void RecordSequence::add(const std::optional<Record>& record) {
  if (!record) {
    ++unbelievable_;
    return;
  }
  if (last_ && record->id <= *last_) {
    return;
  }
  note_holes_before(record->id);
  unbelievable_ = 0;
  last_ = record->id;
  records_.push_back(*record);
}

void RecordSequence::note_hole(std::uint32_t boot, std::int64_t first, std::int64_t last,
                               bool corrupt) {
  if (first <= last) {
    holes_.push_back({range_of(boot, first, last), corrupt});
  }
}

// Unbelievable records stand for the ids just before `next`; what does not fit in there (a boot
// begins with sequence 1) belongs to the end of the boot before.
void RecordSequence::note_holes_before(RecordId next) {
  const bool corrupt = unbelievable_ > 0;
  if (last_ && last_->boot == next.boot) {
    note_hole(next.boot, last_->sequence + 1, next.sequence - 1, corrupt);
    return;
  }
  if (!last_) {
    if (corrupt) {
      note_hole(next.boot, std::max<std::int64_t>(1, next.sequence - unbelievable_),
                next.sequence - 1, true);
    }
    return;
  }
  const std::int64_t in_boot_before = unbelievable_ - (next.sequence - 1);
  note_hole(last_->boot, last_->sequence + 1, last_->sequence + in_boot_before, true);
  note_hole(next.boot, 1, next.sequence - 1, corrupt);
}

std::vector<store::Gap> RecordSequence::gaps(std::span<const SequenceRange> overflowed) const {
  const std::vector<SequenceRange> runs = runs_of(records_);
  std::vector<SequenceRange> lost;
  for (SequenceRange range : overflowed) {
    if (after_ && range.boot == after_->boot) {
      range.first = std::max(range.first, after_->sequence + 1);
    }
    if ((after_ && range.boot < after_->boot) || range.first > range.last) {
      continue;
    }
    const auto parts = parts_without(range, runs);
    lost.insert(lost.end(), parts.begin(), parts.end());
  }
  std::sort(lost.begin(), lost.end(), before);
  lost = without_overlap(lost);
  std::vector<store::Gap> gaps;
  for (const SequenceRange& range : lost) {
    gaps.push_back(gap_from_range(range, GapReason::overflow));
  }
  for (const Hole& hole : holes_) {
    for (const SequenceRange& part : parts_without(hole.range, lost)) {
      gaps.push_back(gap_from_range(part, hole.corrupt ? GapReason::corrupt : GapReason::missing));
    }
  }
  return gaps;
}

}  // namespace logger::ingest
