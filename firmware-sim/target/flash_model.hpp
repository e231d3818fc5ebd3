// A flash part made of RAM, with the rules of flash: erase sets a block to 0xff, programming only
// clears bits, every erase wears its block, and a power cut tears the unit being written. One
// thread. Freestanding. One block can be worn out; models no read errors and no time.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>

#include "firmware-sim/core/non_volatile_memory.hpp"
#include "firmware-sim/target/control_block.hpp"

namespace firmware::target {

// What happens when the power fails: on a machine it does not return.
class PowerLoss {
 public:
  PowerLoss() = default;
  PowerLoss(const PowerLoss&) = delete;
  PowerLoss& operator=(const PowerLoss&) = delete;
  virtual void power_lost() = 0;

 protected:
  ~PowerLoss() = default;
};

class FlashModel final : public core::NonVolatileMemory {
 public:
  static constexpr std::size_t kEraseUnit = 256;  // bytes; the unit of programming is one byte

  struct Part {
    std::span<volatile std::uint8_t> cells;
    std::span<volatile std::uint32_t> erase_counts;  // one for each block
    volatile FlashFaults& faults;
  };

  // REQUIRES: cells are whole blocks of kFlashBlockBytes, one erase count for each; `power` and
  // what `part` points to outlive the model.
  FlashModel(const Part& part, PowerLoss& power) : part_(part), power_(power) {}

  // Makes a new part of it: every bit 1, no wear.
  void manufacture();

  [[nodiscard]] std::size_t size() const override { return part_.cells.size(); }
  [[nodiscard]] std::size_t block_size() const override { return kFlashBlockBytes; }
  // After a power loss that returned, everything answers memory_fault.
  core::Status read(std::size_t offset, std::span<std::uint8_t> into) const override;
  // memory_fault: a bit was asked to become 1; it stays 0, the others are programmed.
  core::Status program(std::size_t offset, std::span<const std::uint8_t> bytes) override;
  // memory_fault: the block is worn out and stays as it is.
  core::Status erase(std::size_t block) override;

 private:
  [[nodiscard]] core::Status check(std::size_t offset, std::size_t length) const;
  bool power_holds();

  Part part_;
  PowerLoss& power_;
  bool powered_ = true;
};

}  // namespace firmware::target
