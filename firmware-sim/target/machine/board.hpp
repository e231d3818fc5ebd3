// The machine itself: its millisecond counter, sleep, reset, power. One board for each program.
#pragma once

#include <cstdint>

#include "firmware-sim/target/control_block.hpp"
#include "firmware-sim/target/flash_model.hpp"

namespace firmware::target::machine {

// What the stack is filled with at start, so that its worst depth can be read back.
inline constexpr std::uint32_t kStackPaint = 0xc0ffee11;

void start_ticks();
// Since start_ticks().
[[nodiscard]] std::uint64_t ticks_ms();
void on_tick();

// Busy for at least this long. REQUIRES: below 1000 us; the ticks were started.
void wait_us(std::uint32_t us);
// Until the next interrupt, so at most one tick.
void sleep();
[[noreturn]] void reset();

[[nodiscard]] volatile ControlBlock& control_block();
// The flash part of the non-volatile memory with its first `blocks` blocks.
// REQUIRES: blocks <= kMaxFlashBlocks.
[[nodiscard]] FlashModel::Part flash_part(std::uint32_t blocks);
// Blocks the part was made with; 0 = it is to be made.
[[nodiscard]] volatile std::uint32_t& made_blocks();

// Says so in the control block and stops the machine: only a reset from outside helps.
class StopAtPowerLoss final : public PowerLoss {
 public:
  void power_lost() override;
};

}  // namespace firmware::target::machine
