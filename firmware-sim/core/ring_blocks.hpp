// Blocks and slots of the record ring as bytes in flash-like memory: the layout and nothing of the
// ring's order. Every write is read back. One thread; no copy of anything in RAM.
//
// Block `serial` stands at index serial % blocks. Bytes of a block, integers high byte first:
//     0  u32 magic          4  u32 block size      8  u32 blocks         12  u32 serial, from 1
//    16  u32 boot          20  u32 first ordinal  24  u32 boot and       28  u32 sequence of the
//    32  u16 setting       34  lost block (51 registers)                    newest record before
//   136  u32 CRC-32 of 0..135      140  u8 touched (0xff = no record released in this block)
//   141  u16 pass: places passed over after this block * 4096 + records given up with them
//   143  u8 passed (0xff = the pass does not count)
//   144  slots of 44 bytes: record as on the wire (42, with its CRC-32), two mark bytes
// A slot with boot 0 and a fitting CRC is an event: {0, kind, value as ticks}. The mark bytes lie
// outside the CRC: 0 in the first = released up to here; of a boot event each cleared bit counts
// one boot more.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>

#include "firmware-sim/core/non_volatile_memory.hpp"
#include "firmware-sim/core/record_codec.hpp"

namespace firmware::core {

struct BlockHeader {
  std::uint32_t serial = 0;
  std::uint32_t boot = 0;           // running when the block was opened
  std::uint32_t first_ordinal = 0;  // records stored before, since manufacture
  RecordKey before;                 // newest record stored before; {0, 0} = none
  std::uint16_t setting = 0;
  LostBlock lost;
};

enum class SlotKind : std::uint8_t { blank, record, event, dead };

// Values are permanent (stored).
enum class EventKind : std::uint32_t {
  boot = 1,            // value: boot id, to which the cleared mark bits add
  lost_forgotten = 2,  // value: lost total up to which ranges left the list
  setting = 3,         // value: the setting
};

struct Slot {
  SlotKind kind = SlotKind::blank;
  BoxRecord record;              // of a record
  std::uint32_t event = 0;       // of an event, an EventKind
  std::uint64_t value = 0;       // of an event
  std::uint16_t marks = 0xffff;  // first mark byte high
  [[nodiscard]] bool is(EventKind event_kind) const {
    return kind == SlotKind::event && event == static_cast<std::uint32_t>(event_kind);
  }
};

struct PassMark {
  static constexpr std::uint32_t kMostPassed = 0xf;
  static constexpr std::uint32_t kMostLost = 0xfff;
  std::uint32_t passed = 0;  // 0 = no mark
  std::uint32_t lost = 0;
};

class RingBlocks {
 public:
  static constexpr std::uint32_t kMinBlocks = 3;
  static constexpr std::uint16_t kReleasedMarks = 0x00ff;  // of a slot: released up to here
  static constexpr std::size_t kMinBlockSize = 256;        // bytes; a header and two slots

  // `memory` must outlive this.
  explicit RingBlocks(NonVolatileMemory& memory) : memory_(memory) {}

  // Takes the size of the memory. invalid_argument: too small, or not whole blocks.
  Status measure();
  [[nodiscard]] std::uint32_t blocks() const { return blocks_; }
  [[nodiscard]] std::uint32_t slots() const { return slots_; }  // of one block

  // `valid`: the block at this index holds a whole header of this geometry.
  Status read_header_at(std::uint32_t index, BlockHeader& header, bool& valid) const;
  // `valid`: the block `serial` is still there.
  Status read_header(std::uint32_t serial, BlockHeader& header, bool& valid) const;
  // Erases the place of block header.serial and writes its header, the CRC last.
  Status begin_block(const BlockHeader& header);

  // REQUIRES for all below: slot < slots(), block `serial` begun.
  Status read_slot(std::uint32_t serial, std::uint32_t slot, Slot& content) const;
  // memory_fault: the slot is no longer blank and will read as dead, not as a record.
  Status write_record(std::uint32_t serial, std::uint32_t slot, const BoxRecord& record);
  Status write_event(std::uint32_t serial, std::uint32_t slot, EventKind kind, std::uint64_t value);
  // Clears mark bits: afterwards the marks are `marks`. REQUIRES: no bit set that is clear now.
  Status write_marks(std::uint32_t serial, std::uint32_t slot, std::uint16_t marks);

  Status read_touched(std::uint32_t serial, bool& touched) const;
  Status touch(std::uint32_t serial);

  Status read_pass_mark(std::uint32_t serial, PassMark& mark) const;
  // Once for each block. invalid_argument: more than the mark can say. memory_fault: another one
  // was begun before, and does not count.
  Status write_pass_mark(std::uint32_t serial, const PassMark& mark);

 private:
  [[nodiscard]] std::size_t block_offset(std::uint32_t serial) const;
  [[nodiscard]] std::size_t slot_offset(std::uint32_t serial, std::uint32_t slot) const;
  Status program_checked(std::size_t offset, std::span<const std::uint8_t> bytes);

  NonVolatileMemory& memory_;
  std::uint32_t blocks_ = 0;
  std::uint32_t slots_ = 0;
};

}  // namespace firmware::core
