// Non-volatile memory of a simulated box: RAM with the rules of flash, optionally mirrored in a
// file so that the box survives the program. One thread. Models no wear limit; counts the erases.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "analysis/base/result.hpp"
#include "firmware-sim/core/probe_box.hpp"

namespace firmware::sim::box {

class FlashMemory final : public core::NonVolatileMemory {
 public:
  // A new part: every byte 0xff. REQUIRES: size is a positive multiple of block_size.
  FlashMemory(std::size_t size, std::size_t block_size);
  ~FlashMemory() override;
  // Backed by `path`, made when missing; a file of another size is refused. The error is one line.
  // The file is written at each program and erase, so a killed program loses nothing.
  [[nodiscard]] static analysis::base::Result<std::unique_ptr<FlashMemory>, std::string> open(
      const std::string& path, std::size_t size, std::size_t block_size);

  [[nodiscard]] std::size_t size() const override { return bytes_.size(); }
  [[nodiscard]] std::size_t block_size() const override { return block_size_; }
  // invalid_argument outside the memory.
  core::Status read(std::size_t offset, std::span<std::uint8_t> into) const override;
  // Clears bits only: a bit asked to become 1 stays 0 and the answer is memory_fault, as a real
  // part's verify would say.
  core::Status program(std::size_t offset, std::span<const std::uint8_t> bytes) override;
  core::Status erase(std::size_t block) override;

  [[nodiscard]] const std::vector<std::uint32_t>& erase_counts() const { return erase_counts_; }
  [[nodiscard]] const std::vector<std::uint8_t>& bytes() const { return bytes_; }

 private:
  core::Status store(std::size_t offset, std::size_t length);

  std::vector<std::uint8_t> bytes_;
  std::size_t block_size_;
  std::vector<std::uint32_t> erase_counts_;
  int descriptor_ = -1;  // -1 = RAM only
};

}  // namespace firmware::sim::box
