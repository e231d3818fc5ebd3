#include "firmware-sim/core/ring_reader.hpp"

namespace firmware::core {

void RingReader::set_head(std::uint32_t serial, std::uint32_t free_slot) {
  head_serial_ = serial;
  head_slot_ = free_slot;
}

bool RingReader::head_is_full() const { return head_serial_ == 0 || head_slot_ == blocks_.slots(); }

std::uint32_t RingReader::tail_of(std::uint32_t head) const {
  return head + 2 > blocks_.blocks() ? head + 2 - blocks_.blocks() : 1;
}

template <class Holds>
Status RingReader::newest_block(Holds holds, Place& begin) const {
  std::uint32_t low = tail();
  std::uint32_t high = head_serial_;
  BlockHeader header;
  bool any = false;
  if (const Status status = next_block(low, header, any); status != Status::ok) {
    return status;
  }
  if (!any) {
    return Status::memory_fault;
  }
  begin = {header.serial, 0, header.first_ordinal};
  low = header.serial;
  while (low < high) {
    const std::uint32_t middle = low + (high - low + 1) / 2;
    if (const Status status = next_block(middle, header, any); status != Status::ok) {
      return status;
    }
    if (any && header.serial <= high && holds(header)) {
      low = header.serial;
      begin = {header.serial, 0, header.first_ordinal};
    } else {
      high = middle - 1;
    }
  }
  return Status::ok;
}

Status RingReader::next_block(std::uint32_t serial, BlockHeader& header, bool& any) const {
  any = false;
  for (std::uint32_t next = serial; next <= head_serial_ && !any; ++next) {
    if (const Status status = blocks_.read_header(next, header, any); status != Status::ok) {
      return status;
    }
  }
  return Status::ok;
}

Status RingReader::next_record(Place& place, FoundRecord& found) const {
  found.any = false;
  for (;;) {
    const bool in_head = place.serial == head_serial_;
    const std::uint32_t end = in_head ? head_slot_ : blocks_.slots();
    while (place.slot < end) {
      Slot slot;
      if (const Status status = blocks_.read_slot(place.serial, place.slot, slot);
          status != Status::ok) {
        return status;
      }
      found.place = place;
      ++place.slot;
      if (slot.kind == SlotKind::record) {
        found.record = slot.record;
        found.marks = slot.marks;
        found.any = true;
        ++place.ordinal;
        return Status::ok;
      }
    }
    if (in_head) {
      return Status::ok;
    }
    BlockHeader header;
    bool more = false;
    if (const Status status = next_block(place.serial + 1, header, more);
        status != Status::ok || !more) {
      return status;
    }
    place = {header.serial, 0, header.first_ordinal};
  }
}

Status RingReader::record_from_ordinal(std::uint32_t ordinal, Place& place,
                                       FoundRecord& found) const {
  Status status = newest_block(
      [ordinal](const BlockHeader& header) { return header.first_ordinal <= ordinal; }, place);
  if (status != Status::ok) {
    return status;
  }
  do {
    status = next_record(place, found);
  } while (status == Status::ok && found.any && found.place.ordinal < ordinal);
  return status;
}

Status RingReader::record_from_key(RecordKey key, FoundRecord& found) const {
  Place place;
  Status status =
      newest_block([key](const BlockHeader& header) { return header.before < key; }, place);
  if (status != Status::ok) {
    return status;
  }
  do {
    status = next_record(place, found);
  } while (status == Status::ok && found.any && found.record.key() < key);
  return status;
}

}  // namespace firmware::core
