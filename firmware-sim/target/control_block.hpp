// The first page of the emulated non-volatile memory: words through which whoever runs the emulator
// plays the world around the box (sensors, straps, power) and sees how the box fares. The file that
// backs the memory holds the same bytes, so both sides share this header. Little endian on both.
// A new file is all zero: zero means the default everywhere. Not part of a real box.
#pragma once

#include <cstddef>
#include <cstdint>

#include "firmware-sim/core/wire_format.hpp"

namespace firmware::target {

// Values are permanent (seen by programs outside).
enum class BoxState : std::uint32_t {
  off = 0,           // never started
  running = 1,       // answers
  power_lost = 2,    // stopped at the cut below; only a reset helps
  start_failed = 3,  // the core did not start; its status is in last_status
};

// What a test arms in the flash part, and what the part counted.
struct FlashFaults {
  std::uint32_t cut_countdown;  // 0 = never; n = power fails in the n-th unit written from now on
  std::uint32_t tear_mask;      // of the torn unit: bits set here stay as they were
  std::uint32_t units_written;  // whole units since manufacture
  std::uint32_t rule_breaks;    // bits asked to become 1 by programming
  std::uint32_t worn_block;     // 1 + the block whose erase fails from now on; 0 = none
};

// Bits of ControlBlock::levels, the pins of a wired box.
inline constexpr std::uint32_t kLidPin = 1U << 0U;   // high: open
inline constexpr std::uint32_t kTiltPin = 1U << 1U;  // high: tilted

struct ControlBlock {
  // Written outside, read by the box.
  std::uint32_t flash_blocks;    // at start; 0 = kDefaultFlashBlocks
  std::uint32_t unit;            // Modbus address at start; 0 = 1
  std::uint32_t serial;          // at start; 0 = kDefaultSerial
  std::uint32_t wired;           // at start; 0 = counts come from here, else from real sensors
  std::uint32_t settle_ms;       // at start; until the first sample; 0 = BoxLoop::kSettleMs
  std::uint32_t samples_wanted;  // raised by n: n samples more are taken at once
  std::uint32_t resets_wanted;   // raised: the box resets itself
  std::int16_t raw_counts[core::kChannels];
  std::uint8_t statuses[core::kChannels];
  std::uint32_t flags;
  std::uint32_t baud;           // at start; 19200 or 115200; 0 and all others = kDefaultBaud
  std::uint32_t watchdog_ms;    // at start; 0 = kDefaultWatchdogMs
  std::uint32_t supply_counts;  // of the converter; 0 = kDefaultSupplyCounts
  std::uint32_t levels;         // of the pins above
  std::uint32_t hangs_wanted;   // raised: the loop hangs
  FlashFaults faults;
  // Written by the box.
  std::uint32_t state;  // BoxState
  std::uint32_t machine_starts;
  std::uint32_t samples_taken;  // of those wanted here
  std::uint32_t resets_taken;
  std::uint32_t last_status;  // core::Status that was not ok, last one
  std::uint32_t ticks_ms;     // since this start, modulo 2^32
  std::uint32_t bytes_received;
  std::uint32_t bytes_dropped;  // the receive ring was full, or the line overran
  std::uint32_t hangs_taken;
  std::uint32_t watchdog_resets;  // since manufacture
  std::uint32_t driver_enabled;   // of the line's transceiver
  std::uint32_t driver_releases;  // since this start
};
static_assert(offsetof(ControlBlock, faults) == 76);
static_assert(offsetof(ControlBlock, state) == 96);
static_assert(sizeof(ControlBlock) == 144);

inline constexpr std::uint32_t kDefaultSerial = 1;
inline constexpr std::uint32_t kDefaultBaud = 115200;
inline constexpr std::uint32_t kSlowBaud = 19200;
inline constexpr std::uint32_t kDefaultWatchdogMs = 8000;    // many times the longest round
inline constexpr std::uint32_t kDefaultSupplyCounts = 2300;  // 3707 mV
inline constexpr std::uint32_t kFlashBlockBytes = 4096;
inline constexpr std::uint32_t kDefaultFlashBlocks = 256;
inline constexpr std::uint32_t kMaxFlashBlocks = 2048;

// Where things stand in the memory, bytes from its start.
inline constexpr std::uint32_t kMemoryBytes = 16U << 20U;
inline constexpr std::uint32_t kControlAt = 0;
inline constexpr std::uint32_t kPartAt = 0x1000;  // u32 blocks the part was made with, 0 = none yet
inline constexpr std::uint32_t kWearAt = 0x2000;  // u32 erases for each block
inline constexpr std::uint32_t kFlashAt = 0x10000;
static_assert(sizeof(ControlBlock) <= kPartAt);
static_assert(kWearAt + kMaxFlashBlocks * 4 <= kFlashAt);
static_assert(kFlashAt + kMaxFlashBlocks * kFlashBlockBytes <= kMemoryBytes);

}  // namespace firmware::target
