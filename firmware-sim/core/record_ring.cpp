// How each step stands a power cut (the layout is in ring_blocks.hpp):
// * append: a torn slot fails its CRC and is dead for ever; a whole one counts.
// * open block: the place written is out of use before and after, so erase and header may tear at
//   will; the header's CRC is the moment at which the new block counts, the oldest stops counting,
//   and what it still held is in the new header's lost list.
// * release: touched byte, then mark. After the first alone, everything before the block counts as
//   released, which the master has committed as well. A partly cleared byte counts as cleared.
// * boot: one bit of the last slot when that is a boot event, else an event, else a new block. A
//   torn one may or may not count; the id grows either way, and nothing was answered under it.
#include "firmware-sim/core/record_ring.hpp"

#include <algorithm>
#include <bit>

namespace firmware::core {
namespace {

constexpr std::uint16_t kReleasedMarks = 0x00ff;

bool is_released(std::uint16_t marks) { return (marks >> 8U) != 0xff; }

void add_lost(RecordKey key, LostBlock& lost) {
  ++lost.total;
  if (lost.count > 0) {
    LostRange& last = lost.ranges[lost.count - std::size_t{1}];
    if (last.boot == key.boot && last.last + 1 == key.sequence) {
      last.last = key.sequence;
      return;
    }
  }
  if (lost.count == kLostRanges) {
    std::copy(lost.ranges.begin() + 1, lost.ranges.end(), lost.ranges.begin());
    --lost.count;
  }
  lost.ranges[lost.count] = {key.boot, key.sequence, key.sequence};
  ++lost.count;
}

// Drops the records from the front that were listed when the total was `total`.
void forget(std::uint32_t total, LostBlock& lost) {
  std::uint32_t listed = 0;
  for (std::size_t i = 0; i < lost.count; ++i) {
    listed += lost.ranges[i].last - lost.ranges[i].first + 1;
  }
  const std::uint32_t before_list = lost.total - listed;
  std::uint32_t drop = total > before_list ? std::min(total - before_list, listed) : 0;
  while (drop > 0) {
    LostRange& front = lost.ranges[0];
    const std::uint32_t size = front.last - front.first + 1;
    if (drop < size) {
      front.first += drop;
      return;
    }
    drop -= size;
    std::copy(lost.ranges.begin() + 1, lost.ranges.end(), lost.ranges.begin());
    --lost.count;
    lost.ranges[lost.count] = LostRange{};
  }
}

}  // namespace

Status RecordRing::start() {
  reader_.set_head(0, 0);
  boot_ = first_held_ = next_ordinal_ = 0;
  oldest_ = newest_ = released_ = RecordKey{};
  lost_ = LostBlock{};
  cursor_ = Place{};
  setting_ = 0;
  setting_unsaved_ = false;
  if (const Status status = blocks_.measure(); status != Status::ok) {
    return status;
  }
  BlockHeader head;
  bool any = false;
  if (const Status status = find_head(head, any); status != Status::ok) {
    return status;
  }
  std::uint16_t boot_marks = 0;
  if (any) {
    if (const Status status = resume(head, boot_marks); status != Status::ok) {
      return status;
    }
  }
  if (const Status status = begin_boot(boot_marks); status != Status::ok) {
    return status;
  }
  return refresh_oldest();
}

std::uint32_t RecordRing::capacity() const {
  return blocks_.blocks() == 0 ? 0 : (blocks_.blocks() - 1) * blocks_.slots();
}

Status RecordRing::find_head(BlockHeader& head, bool& any) const {
  any = false;
  for (std::uint32_t index = 0; index < blocks_.blocks(); ++index) {
    BlockHeader header;
    bool valid = false;
    if (const Status status = blocks_.read_header_at(index, header, valid); status != Status::ok) {
      return status;
    }
    if (valid && (!any || header.serial > head.serial)) {
      head = header;
      any = true;
    }
  }
  return Status::ok;
}

Status RecordRing::resume(const BlockHeader& head, std::uint16_t& boot_marks) {
  reader_.set_head(head.serial, 0);
  boot_ = head.boot;
  next_ordinal_ = head.first_ordinal;
  newest_ = head.before;
  setting_ = head.setting;
  lost_ = head.lost;
  for (std::uint32_t index = 0; index < blocks_.slots(); ++index) {
    Slot slot;
    if (const Status status = blocks_.read_slot(head.serial, index, slot); status != Status::ok) {
      return status;
    }
    if (slot.kind == SlotKind::blank) {
      continue;
    }
    reader_.set_head(head.serial, index + 1);
    apply_slot(slot);
    boot_marks = slot.is(EventKind::boot) ? slot.marks : std::uint16_t{0};
  }
  return find_released();
}

void RecordRing::apply_slot(const Slot& slot) {
  if (slot.kind == SlotKind::record) {
    newest_ = slot.record.key();
    ++next_ordinal_;
  } else if (slot.is(EventKind::boot)) {
    const int more = std::popcount(static_cast<std::uint16_t>(~slot.marks));
    boot_ = static_cast<std::uint32_t>(slot.value) + static_cast<std::uint32_t>(more);
  } else if (slot.is(EventKind::lost_forgotten)) {
    forget(static_cast<std::uint32_t>(slot.value), lost_);
  } else if (slot.is(EventKind::setting)) {
    setting_ = static_cast<std::uint16_t>(slot.value);
  }
}

Status RecordRing::find_released() {
  for (std::uint32_t serial = reader_.head_serial(); serial >= reader_.tail(); --serial) {
    BlockHeader header;
    bool valid = false;
    bool touched = false;
    if (const Status status = blocks_.read_header(serial, header, valid); status != Status::ok) {
      return status;
    }
    if (!valid) {
      continue;
    }
    first_held_ = header.first_ordinal;
    if (const Status status = blocks_.read_touched(serial, touched); status != Status::ok) {
      return status;
    }
    if (touched) {
      return finish_release(header);
    }
  }
  return Status::ok;
}

Status RecordRing::finish_release(const BlockHeader& header) {
  Place place{header.serial, 0, header.first_ordinal};
  FoundRecord found;
  FoundRecord last;
  do {
    if (is_released(found.marks)) {
      last = found;
    }
    if (const Status status = reader_.next_record(place, found); status != Status::ok) {
      return status;
    }
  } while (found.any && found.place.serial == header.serial);
  if (const Status status = blocks_.touch(header.serial); status != Status::ok) {
    return status;
  }
  if (!last.any) {
    return Status::ok;
  }
  first_held_ = last.place.ordinal + 1;
  released_ = last.record.key();
  return blocks_.write_marks(last.place.serial, last.place.slot, kReleasedMarks);
}

Status RecordRing::begin_boot(std::uint16_t boot_marks) {
  ++boot_;
  if (boot_marks != 0) {
    const auto one_less = static_cast<std::uint16_t>(boot_marks & (boot_marks - 1U));
    if (blocks_.write_marks(reader_.head_serial(), reader_.head_slot() - 1, one_less) ==
        Status::ok) {
      return Status::ok;
    }
  }
  Status status = Status::memory_fault;
  for (std::size_t attempt = 0; attempt < kAppendAttempts && status != Status::ok; ++attempt) {
    if (reader_.head_is_full()) {
      return open_block();
    }
    status = save_event(EventKind::boot, boot_);
  }
  return status;
}

Status RecordRing::open_block() {
  BlockHeader header{.serial = reader_.head_serial() + 1,
                     .boot = boot_,
                     .first_ordinal = next_ordinal_,
                     .before = newest_,
                     .setting = setting_,
                     .lost = lost_};
  const std::uint32_t tail = reader_.tail_of(header.serial);
  std::uint32_t first_held = first_held_;
  if (tail > 1) {
    BlockHeader oldest;
    bool any = false;
    if (const Status status = reader_.next_block(tail, oldest, any); status != Status::ok) {
      return status;
    }
    first_held = std::max(first_held_, any ? oldest.first_ordinal : next_ordinal_);
    if (const Status status = add_losses(tail - 1, header.lost); status != Status::ok) {
      return status;
    }
  }
  if (const Status status = blocks_.begin_block(header); status != Status::ok) {
    return status;
  }
  reader_.set_head(header.serial, 0);
  lost_ = header.lost;
  setting_unsaved_ = false;
  if (first_held == first_held_) {
    return Status::ok;
  }
  first_held_ = first_held;
  return refresh_oldest();
}

Status RecordRing::add_losses(std::uint32_t serial, LostBlock& lost) const {
  BlockHeader header;
  bool valid = false;
  if (const Status status = blocks_.read_header(serial, header, valid);
      status != Status::ok || !valid) {
    return status;
  }
  Place place{serial, 0, header.first_ordinal};
  FoundRecord found;
  Status status = reader_.next_record(place, found);
  while (status == Status::ok && found.any && found.place.serial == serial) {
    if (found.place.ordinal >= first_held_) {
      add_lost(found.record.key(), lost);
    }
    status = reader_.next_record(place, found);
  }
  return status;
}

std::uint32_t RecordRing::take_slot() {
  const std::uint32_t slot = reader_.head_slot();
  reader_.set_head(reader_.head_serial(), slot + 1);
  return slot;
}

Status RecordRing::save_event(EventKind kind, std::uint64_t value) {
  return blocks_.write_event(reader_.head_serial(), take_slot(), kind, value);
}

Status RecordRing::append(const BoxRecord& record) {
  if (record.key() <= newest_ || record.sequence == 0) {
    return Status::invalid_argument;
  }
  Status status = Status::memory_fault;
  for (std::size_t attempt = 0; attempt < kAppendAttempts && status != Status::ok; ++attempt) {
    status = append_once(record);
  }
  if (status != Status::ok) {
    return status;
  }
  if (held() == 0) {
    oldest_ = record.key();
  }
  newest_ = record.key();
  ++next_ordinal_;
  return Status::ok;
}

Status RecordRing::append_once(const BoxRecord& record) {
  if (setting_unsaved_ && !reader_.head_is_full()) {
    if (const Status status = save_event(EventKind::setting, setting_); status != Status::ok) {
      return status;
    }
    setting_unsaved_ = false;
  }
  if (reader_.head_is_full()) {
    if (const Status status = open_block(); status != Status::ok) {
      return status;
    }
  }
  return blocks_.write_record(reader_.head_serial(), take_slot(), record);
}

Status RecordRing::forget_lost(std::uint32_t total) {
  const LostBlock listed = lost_;
  forget(total, lost_);
  if (lost_ == listed) {
    return Status::ok;
  }
  const Status status = reader_.head_is_full() ? open_block()  // its header carries the list
                                               : save_event(EventKind::lost_forgotten, total);
  if (status != Status::ok) {
    lost_ = listed;
  }
  return status;
}

void RecordRing::set_setting(std::uint16_t value) {
  setting_unsaved_ = setting_unsaved_ || value != setting_;
  setting_ = value;
}

Status RecordRing::release_through(std::uint32_t ordinal) {
  if (ordinal >= next_ordinal_) {
    return Status::invalid_argument;
  }
  if (ordinal < first_held_) {
    return Status::ok;
  }
  Place place;
  FoundRecord found;
  if (const Status status = reader_.record_from_ordinal(ordinal, place, found);
      status != Status::ok) {
    return status;
  }
  if (!found.any || found.place.ordinal != ordinal) {
    return Status::memory_fault;  // it was there once: the memory has lost it since
  }
  if (const Status status = blocks_.touch(found.place.serial); status != Status::ok) {
    return status;
  }
  if (const Status status =
          blocks_.write_marks(found.place.serial, found.place.slot, kReleasedMarks);
      status != Status::ok) {
    return status;
  }
  first_held_ = ordinal + 1;
  released_ = found.record.key();
  return refresh_oldest();
}

Status RecordRing::find(RecordKey key, std::uint32_t& ordinal, bool& exact) const {
  ordinal = next_ordinal_;
  exact = false;
  if (held() == 0 || key > newest_) {
    return Status::ok;
  }
  if (key <= oldest_) {
    ordinal = first_held_;
    exact = key == oldest_;
    return Status::ok;
  }
  FoundRecord found;
  const Status status = reader_.record_from_key(key, found);
  if (status == Status::ok && found.any) {
    ordinal = found.place.ordinal;
    exact = found.record.key() == key;
  }
  return status;
}

Status RecordRing::read(std::uint32_t from, std::span<BoxRecord> records, std::size_t& count) {
  count = 0;
  const std::uint32_t first = std::max(from, first_held_);
  const std::uint64_t wanted_end = std::uint64_t{from} + records.size();
  if (first >= next_ordinal_ || first >= wanted_end) {
    return Status::ok;
  }
  Place place = cursor_;
  FoundRecord found;
  const bool goes_on = place.serial >= reader_.tail() && place.ordinal == first;
  Status status = goes_on ? reader_.next_record(place, found)
                          : reader_.record_from_ordinal(first, place, found);
  while (status == Status::ok && found.any && found.place.ordinal < wanted_end) {
    records[count] = found.record;
    ++count;
    cursor_ = place;
    if (place.ordinal >= wanted_end) {
      break;
    }
    status = reader_.next_record(place, found);
  }
  return status;
}

Status RecordRing::refresh_oldest() {
  oldest_ = RecordKey{};
  if (held() == 0) {
    return Status::ok;
  }
  Place place;
  FoundRecord found;
  const Status status = reader_.record_from_ordinal(first_held_, place, found);
  if (status == Status::ok && found.any) {
    oldest_ = found.record.key();
  }
  return status;
}

}  // namespace firmware::core
