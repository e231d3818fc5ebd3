// The non-volatile ring of records: log-structured slots over flash-like memory. Power may be cut
// at any byte of any program or erase: what append or release acknowledged stays so, nothing torn
// is ever delivered. Layout and proof of each step: record_ring.cpp. One thread; no copy in RAM.
//
// Records have an ordinal, the count of records stored before them since manufacture; held records
// are an unbroken run of ordinals. Blocks are opened round the ring in turn, so wear stays even
// within one erase. Opening a block gives up the oldest one: what it held unreleased is lost, and
// counted in the new block's header, the write of which is the one atomic step. A place that can't
// be erased or written is passed over, which costs one more of the oldest blocks.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>

#include "firmware-sim/core/non_volatile_memory.hpp"
#include "firmware-sim/core/record_codec.hpp"
#include "firmware-sim/core/ring_blocks.hpp"
#include "firmware-sim/core/ring_reader.hpp"

namespace firmware::core {

class RecordRing {
 public:
  // `memory` must outlive the ring. Nothing is read before start().
  explicit RecordRing(NonVolatileMemory& memory) : blocks_(memory), reader_(blocks_) {}
  RecordRing(const RecordRing&) = delete;
  RecordRing& operator=(const RecordRing&) = delete;

  // Finds the state and begins a new boot, persisted before this returns ok. Memory of any other
  // content counts as empty. invalid_argument: fewer than RingBlocks::kMinBlocks blocks, or smaller
  // than RingBlocks::kMinBlockSize. Cost: two headers (140 bytes) for each block, the slots of at
  // most three blocks, and one write.
  Status start();

  [[nodiscard]] std::uint32_t boot() const { return boot_; }  // 0 before start
  // The most records that can be held. With released records left in the oldest block, loss begins
  // up to one block (slots_per_block() records) before.
  [[nodiscard]] std::uint32_t capacity() const;
  [[nodiscard]] std::uint32_t slots_per_block() const { return blocks_.slots(); }
  [[nodiscard]] std::uint32_t held() const { return next_ordinal_ - first_held_; }
  [[nodiscard]] std::uint32_t first_held() const { return first_held_; }      // ordinal
  [[nodiscard]] std::uint32_t next_ordinal() const { return next_ordinal_; }  // of the next append
  [[nodiscard]] RecordKey oldest() const { return oldest_; }      // held; {0, 0} when none
  [[nodiscard]] RecordKey newest() const { return newest_; }      // ever stored; {0, 0} when none
  [[nodiscard]] RecordKey released() const { return released_; }  // last one; see below

  // released() is {0, 0} when nothing was released, or its block was used again before start().

  // REQUIRES: key above newest(). Persisted when ok. A slot that does not read back is given up and
  // the next one tried, kAppendAttempts in all. Cost: one slot, or a block erase and a header more.
  Status append(const BoxRecord& record);

  // Ordinal of the first held record at or after `key`; next_ordinal() when there is none.
  // `exact`: its key is `key`. Cost: O(log blocks) headers and the slots of one block.
  Status find(RecordKey key, std::uint32_t& ordinal, bool& exact) const;

  // Up to records.size() held records with ordinals from..from+records.size()-1, in order; `count`
  // of them. Reading on from where the last read ended costs those slots only, else as find().
  Status read(std::uint32_t from, std::span<BoxRecord> records, std::size_t& count);

  // Places passed over because their erase or header failed twice: those among the blocks in use at
  // start() and each one met since. Every revolution tries them again.
  [[nodiscard]] std::uint32_t bad_blocks() const { return bad_blocks_; }

  // Forgets every record up to and including `ordinal`, for ever when ok. Already forgotten ones
  // are ok and cost nothing. REQUIRES: ordinal < next_ordinal().
  Status release_through(std::uint32_t ordinal);

  // Ranges lost and not forgotten yet. More than kLostRanges ranges: the oldest leave the list and
  // stay in the total only.
  [[nodiscard]] const LostBlock& lost() const { return lost_; }
  // Takes what was lost up to the moment lost().total was `total` off the list, for ever when ok;
  // the total stays. With a full head block this opens the next one, as an append would.
  Status forget_lost(std::uint32_t total);

  // A setting that outlives reboots: 0 = never written. Persisted with the next append, so that a
  // stray master can't use the ring up.
  [[nodiscard]] std::uint16_t setting() const { return setting_; }
  void set_setting(std::uint16_t value);

 private:
  static constexpr std::size_t kAppendAttempts = 3;
  static constexpr std::uint32_t kMostPassed = 8;  // bad places in a row; more: memory_fault
  static_assert(kMostPassed <= PassMark::kMostPassed);

  // What is given up when the next place is taken into use.
  struct Surrender {
    std::uint32_t first_held = 0;
    LostBlock lost;
  };

  Status find_head(BlockHeader& head, bool& any) const;
  // `boot_marks`: of the last slot in use when that is a boot event, else 0.
  Status resume(const BlockHeader& head, std::uint16_t& boot_marks);
  Status resume_pass();
  void apply_slot(const Slot& slot);
  Status find_released();
  Status finish_release(const BlockHeader& header);
  Status begin_boot(std::uint16_t boot_marks);

  // The place after the head that is tried next.
  [[nodiscard]] std::uint32_t next_serial() const {
    return reader_.head_serial() + 1 + reader_.passed();
  }
  [[nodiscard]] std::uint32_t most_passed() const;  // one block stays in use
  Status open_block();
  Status open_next_place();
  Status pass_next_place();
  Status give_up_oldest(Surrender& surrender) const;  // writes nothing
  Status surrender_oldest(const Surrender& surrender);
  Status add_losses(std::uint32_t serial, LostBlock& lost) const;
  std::uint32_t take_slot();  // of the head block; given up also when its write fails
  Status save_event(EventKind kind, std::uint64_t value);
  Status append_once(const BoxRecord& record);

  Status refresh_oldest();

  RingBlocks blocks_;
  RingReader reader_;
  std::uint32_t boot_ = 0;
  std::uint32_t first_held_ = 0;
  std::uint32_t next_ordinal_ = 0;
  RecordKey oldest_;
  RecordKey newest_;
  RecordKey released_;
  LostBlock lost_;
  Place cursor_;  // where the last read ended; serial 0 = nowhere
  std::uint16_t setting_ = 0;
  bool setting_unsaved_ = false;
  bool pass_marked_ = false;  // the head block has its pass mark
  std::uint32_t bad_blocks_ = 0;
};

}  // namespace firmware::core
