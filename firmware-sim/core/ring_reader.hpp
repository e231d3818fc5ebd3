// Walks the records of the ring in the order they were taken: which blocks count, where a key or an
// ordinal stands, and the next record from a place on. Reads only. One thread; no copy in RAM.
#pragma once

#include <cstdint>

#include "firmware-sim/core/ring_blocks.hpp"

namespace firmware::core {

// A slot, with the ordinal its record has or would have (records stored before it, ever).
struct Place {
  std::uint32_t serial = 0;  // of the block; 0 = nowhere
  std::uint32_t slot = 0;
  std::uint32_t ordinal = 0;
};

struct FoundRecord {
  bool any = false;  // else the rest means nothing
  Place place;       // of the record itself
  BoxRecord record;
  std::uint16_t marks = 0xffff;
};

class RingReader {
 public:
  // `blocks` must outlive this.
  explicit RingReader(const RingBlocks& blocks) : blocks_(blocks) {}

  // The newest block and its first free slot; serial 0 = no block yet.
  void set_head(std::uint32_t serial, std::uint32_t free_slot);
  [[nodiscard]] std::uint32_t head_serial() const { return head_serial_; }
  [[nodiscard]] std::uint32_t head_slot() const { return head_slot_; }
  [[nodiscard]] bool head_is_full() const;

  // Places after the head that can't be used: what their use would have given up is given up.
  void set_passed(std::uint32_t places) { passed_ = places; }
  [[nodiscard]] std::uint32_t passed() const { return passed_; }

  // The oldest block that counts while `head` is the newest: one block is always out of use.
  [[nodiscard]] std::uint32_t tail_of(std::uint32_t head) const;
  [[nodiscard]] std::uint32_t tail() const { return tail_of(head_serial_ + passed_); }

  // The first block from `serial` on with a whole header. O(1) while all headers are whole.
  Status next_block(std::uint32_t serial, BlockHeader& header, bool& any) const;

  // The next record at or after `place`, which moves behind it. Cost: the slots in between.
  Status next_record(Place& place, FoundRecord& found) const;
  // The first record with this ordinal or a later one; `place` is behind it.
  // Cost: O(log blocks) headers and the slots of one block.
  Status record_from_ordinal(std::uint32_t ordinal, Place& place, FoundRecord& found) const;
  // The first record with this key or a later one. Cost as above.
  Status record_from_key(RecordKey key, FoundRecord& found) const;

 private:
  // The newest counting block for which `holds`, else the oldest one. REQUIRES: `holds` is true up
  // to some block and false from there on.
  template <class Holds>
  Status newest_block(Holds holds, Place& begin) const;

  const RingBlocks& blocks_;
  std::uint32_t head_serial_ = 0;
  std::uint32_t head_slot_ = 0;
  std::uint32_t passed_ = 0;
};

}  // namespace firmware::core
