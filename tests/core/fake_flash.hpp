// Flash for tests: enforces the rules (programming may only clear bits, whole blocks are erased)
// and can lose power after any number of bytes, leaving torn bytes and half-erased blocks behind.
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <random>
#include <span>
#include <utility>
#include <vector>

#include "firmware-sim/core/non_volatile_memory.hpp"

namespace firmware::core {

class FakeFlash : public NonVolatileMemory {
 public:
  FakeFlash(std::size_t block_size, std::size_t blocks, std::uint32_t seed = 1)
      : block_size_(block_size),
        bytes_(block_size * blocks, 0xff),
        erases_(blocks, 0),
        random_(seed) {}

  [[nodiscard]] std::size_t size() const override { return bytes_.size(); }
  [[nodiscard]] std::size_t block_size() const override { return block_size_; }

  Status read(std::size_t offset, std::span<std::uint8_t> into) const override {
    if (offset + into.size() > bytes_.size()) {
      ++rule_breaks_;
      return Status::invalid_argument;
    }
    if (!powered_) {
      return Status::memory_fault;
    }
    bytes_read_ += into.size();
    for (std::size_t i = 0; i < into.size(); ++i) {
      into[i] = bytes_[offset + i];
    }
    return Status::ok;
  }

  Status program(std::size_t offset, std::span<const std::uint8_t> bytes) override {
    if (offset + bytes.size() > bytes_.size()) {
      ++rule_breaks_;
      return Status::invalid_argument;
    }
    if (!powered_) {
      return Status::memory_fault;
    }
    for (std::size_t i = 0; i < bytes.size(); ++i) {
      std::uint8_t& cell = bytes_[offset + i];
      if (!spend_byte()) {
        // A torn byte has cleared some of its bits, or none, or all.
        cell = static_cast<std::uint8_t>(cell & (bytes[i] | random_()));
        return Status::memory_fault;
      }
      if ((bytes[i] & ~cell) != 0) {
        ++rule_breaks_;
      }
      cell = static_cast<std::uint8_t>(cell & bytes[i]);
      if (offset + i == stuck_at_) {
        cell = static_cast<std::uint8_t>(cell | 0x01U);
      }
    }
    return Status::ok;
  }

  Status erase(std::size_t block) override {
    if (block >= erases_.size()) {
      ++rule_breaks_;
      return Status::invalid_argument;
    }
    if (!powered_) {
      return Status::memory_fault;
    }
    if (std::exchange(erase_fails_, false)) {
      return Status::memory_fault;
    }
    if (std::find(worn_out_.begin(), worn_out_.end(), block) != worn_out_.end()) {
      return Status::memory_fault;
    }
    const std::size_t first = block * block_size_;
    const bool backwards = (random_() & 1U) != 0;
    const bool garbage = (random_() & 1U) != 0;
    for (std::size_t i = 0; i < block_size_; ++i) {
      if (!spend_byte()) {
        for (std::size_t j = 0; garbage && j < block_size_; ++j) {
          bytes_[first + j] = static_cast<std::uint8_t>(random_());
        }
        return Status::memory_fault;
      }
      bytes_[first + (backwards ? block_size_ - 1 - i : i)] = 0xff;
    }
    ++erases_[block];
    return Status::ok;
  }

  // Power fails at the byte written after `bytes` more of them.
  void cut_after(std::uint64_t bytes) { cut_at_ = bytes_written_ + bytes; }
  void power_up() {
    powered_ = true;
    cut_at_ = kNever;
  }
  // From now on the block keeps what it holds: every erase of it fails.
  void wear_out(std::size_t block) { worn_out_.push_back(block); }
  void fail_next_erase() { erase_fails_ = true; }
  void stick_lowest_bit_at(std::size_t offset) { stuck_at_ = offset; }
  void flip_bit_at(std::size_t offset) { bytes_[offset] ^= 0x01U; }
  void fill_with(std::uint8_t byte) { bytes_.assign(bytes_.size(), byte); }

  [[nodiscard]] bool powered() const { return powered_; }
  [[nodiscard]] std::uint64_t bytes_written() const { return bytes_written_; }
  [[nodiscard]] std::uint64_t bytes_read() const { return bytes_read_; }
  [[nodiscard]] std::uint64_t rule_breaks() const { return rule_breaks_; }
  [[nodiscard]] const std::vector<std::uint32_t>& erases() const { return erases_; }
  [[nodiscard]] const std::vector<std::uint8_t>& bytes() const { return bytes_; }

 private:
  static constexpr std::uint64_t kNever = ~std::uint64_t{0};

  // False at the byte that the cut tears.
  bool spend_byte() {
    powered_ = bytes_written_ != cut_at_;
    bytes_written_ += powered_ ? 1 : 0;
    return powered_;
  }

  std::size_t block_size_;
  std::vector<std::uint8_t> bytes_;
  std::vector<std::uint32_t> erases_;
  std::vector<std::size_t> worn_out_;
  bool erase_fails_ = false;
  std::minstd_rand random_;
  bool powered_ = true;
  std::uint64_t cut_at_ = kNever;
  std::uint64_t bytes_written_ = 0;
  mutable std::uint64_t bytes_read_ = 0;
  mutable std::uint64_t rule_breaks_ = 0;
  std::size_t stuck_at_ = ~std::size_t{0};
};

}  // namespace firmware::core
