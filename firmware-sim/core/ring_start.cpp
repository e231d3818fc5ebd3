// How the ring finds its state again, whatever the memory holds.
#include <bit>

#include "firmware-sim/core/lost_list.hpp"
#include "firmware-sim/core/record_ring.hpp"

namespace firmware::core {
namespace {

bool is_released(std::uint16_t marks) { return (marks >> 8U) != 0xff; }

}  // namespace

Status RecordRing::start() {
  reader_.set_head(0, 0);
  reader_.set_passed(0);
  boot_ = first_held_ = next_ordinal_ = 0;
  oldest_ = newest_ = released_ = RecordKey{};
  lost_ = LostBlock{};
  cursor_ = Place{};
  setting_ = 0;
  setting_unsaved_ = false;
  pass_marked_ = false;
  bad_blocks_ = 0;
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
  if (const Status status = resume_pass(); status != Status::ok) {
    return status;
  }
  return find_released();
}

// What a pass mark says was lost, whatever has become of the block since.
Status RecordRing::resume_pass() {
  PassMark mark;
  if (const Status status = blocks_.read_pass_mark(reader_.head_serial(), mark);
      status != Status::ok || mark.passed == 0 || mark.passed > most_passed()) {
    return status;
  }
  pass_marked_ = true;
  reader_.set_passed(mark.passed);
  BlockHeader next;
  bool any = false;
  const Status status = reader_.next_block(reader_.tail(), next, any);
  if (status == Status::ok) {
    add_lost_before(any && next.serial == reader_.tail() ? next.before : RecordKey{}, mark.lost,
                    lost_);
  }
  return status;
}

void RecordRing::apply_slot(const Slot& slot) {
  if (slot.kind == SlotKind::record) {
    newest_ = slot.record.key();
    ++next_ordinal_;
  } else if (slot.is(EventKind::boot)) {
    const int more = std::popcount(static_cast<std::uint16_t>(~slot.marks));
    boot_ = static_cast<std::uint32_t>(slot.value) + static_cast<std::uint32_t>(more);
  } else if (slot.is(EventKind::lost_forgotten)) {
    forget_lost_through(static_cast<std::uint32_t>(slot.value), lost_);
  } else if (slot.is(EventKind::setting)) {
    setting_ = static_cast<std::uint16_t>(slot.value);
  }
}

// Also counts the places that were passed over: every block in use has a header, but for those.
Status RecordRing::find_released() {
  BlockHeader released;  // the newest block with a released record
  for (std::uint32_t serial = reader_.head_serial(); serial >= reader_.tail(); --serial) {
    BlockHeader header;
    bool valid = false;
    bool touched = false;
    if (const Status status = blocks_.read_header(serial, header, valid); status != Status::ok) {
      return status;
    }
    if (!valid) {
      ++bad_blocks_;
      continue;
    }
    if (released.serial != 0) {
      continue;
    }
    first_held_ = header.first_ordinal;
    if (const Status status = blocks_.read_touched(serial, touched); status != Status::ok) {
      return status;
    }
    if (touched) {
      released = header;
    }
  }
  return released.serial != 0 ? finish_release(released) : Status::ok;
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
  return blocks_.write_marks(last.place.serial, last.place.slot, RingBlocks::kReleasedMarks);
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

}  // namespace firmware::core
