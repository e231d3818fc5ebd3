// How each step stands a power cut (the layout is in ring_blocks.hpp):
// * append: a torn slot fails its CRC and is dead for ever; a whole one counts.
// * open block: the place written is out of use before and after, so erase and header may tear at
//   will; the header's CRC is the moment at which the new block counts, the oldest stops counting,
//   and what it still held is in the new header's lost list.
// * pass over a bad place: the oldest block is given up before its place is erased, and what it
// held
//   is lost from the moment at which the pass mark of the head block is whole. One mark a head
//   block: of several bad places in a row the later ones count the losses exactly as long as the
//   power stays.
// * release: touched byte, then mark. After the first alone, everything before the block counts as
//   released, which the master has committed as well. A partly cleared byte counts as cleared.
// * boot: one bit of the last slot when that is a boot event, else an event, else a new block. A
//   torn one may or may not count; the id grows either way, and nothing was answered under it.
#include "firmware-sim/core/record_ring.hpp"

#include <algorithm>

#include "firmware-sim/core/lost_list.hpp"

namespace firmware::core {
std::uint32_t RecordRing::capacity() const {
  return blocks_.blocks() == 0 ? 0 : (blocks_.blocks() - 1) * blocks_.slots();
}

std::uint32_t RecordRing::most_passed() const {
  return std::min(kMostPassed, blocks_.blocks() - RingBlocks::kMinBlocks);
}

Status RecordRing::open_block() {
  Status status = open_next_place();
  while (status == Status::memory_fault && reader_.passed() < most_passed()) {
    if (const Status passed = pass_next_place(); passed != Status::ok) {
      return passed;
    }
    status = open_next_place();
  }
  return status;
}

Status RecordRing::give_up_oldest(Surrender& surrender) const {
  const std::uint32_t tail = reader_.tail_of(next_serial());
  surrender = {.first_held = first_held_, .lost = lost_};
  if (tail == reader_.tail()) {
    return Status::ok;
  }
  BlockHeader oldest;
  bool any = false;
  if (const Status status = reader_.next_block(tail, oldest, any); status != Status::ok) {
    return status;
  }
  surrender.first_held = std::max(first_held_, any ? oldest.first_ordinal : next_ordinal_);
  return add_losses(tail - 1, surrender.lost);
}

Status RecordRing::open_next_place() {
  Surrender surrender;
  Status status = give_up_oldest(surrender);
  if (status != Status::ok) {
    return status;
  }
  const BlockHeader header{.serial = next_serial(),
                           .boot = boot_,
                           .first_ordinal = next_ordinal_,
                           .before = newest_,
                           .setting = setting_,
                           .lost = surrender.lost};
  status = blocks_.begin_block(header);
  if (status == Status::memory_fault) {
    status = blocks_.begin_block(header);
  }
  if (status != Status::ok) {
    return status;
  }
  reader_.set_head(header.serial, 0);
  reader_.set_passed(0);
  pass_marked_ = false;
  setting_unsaved_ = false;
  return surrender_oldest(surrender);
}

Status RecordRing::pass_next_place() {
  Surrender surrender;
  if (const Status status = give_up_oldest(surrender); status != Status::ok) {
    return status;
  }
  ++bad_blocks_;
  reader_.set_passed(reader_.passed() + 1);
  const std::uint32_t lost = surrender.lost.total - lost_.total;
  if (lost > 0 && !pass_marked_) {
    pass_marked_ = true;
    // Going on without it is the better choice: it matters only if the power fails just now.
    static_cast<void>(blocks_.write_pass_mark(reader_.head_serial(), {reader_.passed(), lost}));
  }
  return surrender_oldest(surrender);
}

Status RecordRing::surrender_oldest(const Surrender& surrender) {
  lost_ = surrender.lost;
  if (surrender.first_held == first_held_) {
    return Status::ok;
  }
  first_held_ = surrender.first_held;
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
  forget_lost_through(total, lost_);
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
          blocks_.write_marks(found.place.serial, found.place.slot, RingBlocks::kReleasedMarks);
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
