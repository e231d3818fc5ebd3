// The memory a probe box keeps its records in, as a port: the simulator and the target implement
// it. Flash-like: erase sets a whole block to 0xff, program can only clear bits, in steps of one
// byte. One thread. A power cut may tear any program or erase; the ring is built for that.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>

namespace firmware::core {

enum class [[nodiscard]] Status : std::uint8_t{
    ok = 0,
    memory_fault,  // the non-volatile memory refused or answered something else than was written
    not_started,
    invalid_argument,
};

class NonVolatileMemory {
 public:
  NonVolatileMemory() = default;
  NonVolatileMemory(const NonVolatileMemory&) = delete;
  NonVolatileMemory& operator=(const NonVolatileMemory&) = delete;
  virtual ~NonVolatileMemory() = default;
  [[nodiscard]] virtual std::size_t size() const = 0;        // bytes, a multiple of block_size()
  [[nodiscard]] virtual std::size_t block_size() const = 0;  // bytes of an erase block
  // Anything outside size() is refused with invalid_argument.
  virtual Status read(std::size_t offset, std::span<std::uint8_t> into) const = 0;
  virtual Status program(std::size_t offset, std::span<const std::uint8_t> bytes) = 0;
  virtual Status erase(std::size_t block) = 0;
};

}  // namespace firmware::core
