// The box itself: a Modbus RTU device over a ring of records in non-volatile memory. Freestanding:
// no heap, clock, I/O or exceptions; the caller brings memory, ticks, samples and bytes.
// One thread. The record order is the order of taking: (boot, sequence) increasing.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>

#include "firmware-sim/core/wire_format.hpp"

namespace firmware::core {

enum class [[nodiscard]] Status : std::uint8_t {
  ok = 0,
  memory_fault,     // the non-volatile memory refused or answered something else than was written
  not_started,
  invalid_argument,
};

// Flash-like memory: erase sets a whole block to 0xff, program can only clear bits.
class NonVolatileMemory {
 public:
  NonVolatileMemory() = default;
  NonVolatileMemory(const NonVolatileMemory&) = delete;
  NonVolatileMemory& operator=(const NonVolatileMemory&) = delete;
  virtual ~NonVolatileMemory() = default;
  [[nodiscard]] virtual std::size_t size() const = 0;        // bytes, a multiple of block_size()
  [[nodiscard]] virtual std::size_t block_size() const = 0;  // bytes of an erase block
  virtual Status read(std::size_t offset, std::span<std::uint8_t> into) const = 0;
  virtual Status program(std::size_t offset, std::span<const std::uint8_t> bytes) = 0;
  virtual Status erase(std::size_t block) = 0;
};

struct BoxSettings {
  std::uint8_t address = 1;  // Modbus unit, 1..247
  std::uint64_t serial = 0;  // unique for each box, not 0
  std::uint16_t fitted_channels = 6;
  std::uint16_t sample_interval_s = 60;
};

// One sample before it has an identity. Counts: centi degC, centi %RH, millivolt (register map).
struct Sample {
  std::uint16_t flags = 0;
  std::array<std::int16_t, kChannels> raw_counts{};
  std::array<std::uint8_t, kChannels> statuses{};  // 4 bits used, values of the register map
};

struct BoxRecord {
  std::uint32_t boot = 0;
  std::uint32_t sequence = 0;
  std::uint64_t ticks_ms = 0;
  Sample sample;
};
}  // namespace firmware::core
