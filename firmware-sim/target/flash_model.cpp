#include "firmware-sim/target/flash_model.hpp"

namespace firmware::target {
namespace {

constexpr std::uint8_t kErased = 0xff;

}  // namespace

void FlashModel::manufacture() {
  for (volatile std::uint8_t& cell : part_.cells) {
    cell = kErased;
  }
  for (volatile std::uint32_t& count : part_.erase_counts) {
    count = 0;
  }
}

core::Status FlashModel::check(std::size_t offset, std::size_t length) const {
  if (offset > size() || length > size() - offset) {
    return core::Status::invalid_argument;
  }
  return powered_ ? core::Status::ok : core::Status::memory_fault;
}

// Counts one unit; false when it is the one that the cut tears.
bool FlashModel::power_holds() {
  const std::uint32_t countdown = part_.faults.cut_countdown;
  if (countdown != 0) {
    part_.faults.cut_countdown = countdown - 1;
  }
  powered_ = countdown != 1;
  if (powered_) {
    part_.faults.units_written = part_.faults.units_written + 1;
  }
  return powered_;
}

core::Status FlashModel::read(std::size_t offset, std::span<std::uint8_t> into) const {
  if (const core::Status status = check(offset, into.size()); status != core::Status::ok) {
    return status;
  }
  for (std::size_t i = 0; i < into.size(); ++i) {
    into[i] = part_.cells[offset + i];
  }
  return core::Status::ok;
}

core::Status FlashModel::program(std::size_t offset, std::span<const std::uint8_t> bytes) {
  core::Status status = check(offset, bytes.size());
  if (status != core::Status::ok) {
    return status;
  }
  for (std::size_t i = 0; i < bytes.size(); ++i) {
    volatile std::uint8_t& cell = part_.cells[offset + i];
    const std::uint8_t before = cell;
    if (!power_holds()) {
      cell = static_cast<std::uint8_t>(before & (bytes[i] | part_.faults.tear_mask));
      power_.power_lost();
      return core::Status::memory_fault;
    }
    if ((bytes[i] & ~before) != 0) {
      part_.faults.rule_breaks = part_.faults.rule_breaks + 1;
      status = core::Status::memory_fault;
    }
    cell = static_cast<std::uint8_t>(before & bytes[i]);
  }
  return status;
}

core::Status FlashModel::erase(std::size_t block) {
  const core::Status status = check(block * kFlashBlockBytes, kFlashBlockBytes);
  if (status != core::Status::ok) {
    return status;
  }
  if (part_.faults.worn_block == block + 1) {
    return core::Status::memory_fault;
  }
  part_.erase_counts[block] = part_.erase_counts[block] + 1;
  const auto cells = part_.cells.subspan(block * kFlashBlockBytes, kFlashBlockBytes);
  for (std::size_t unit = 0; unit < kFlashBlockBytes; unit += kEraseUnit) {
    const bool whole = power_holds();
    for (volatile std::uint8_t& cell : cells.subspan(unit, kEraseUnit)) {
      const auto kept = whole ? 0U : ~std::uint32_t{cell} & part_.faults.tear_mask;
      cell = static_cast<std::uint8_t>(kErased & ~kept);
    }
    if (!whole) {
      power_.power_lost();
      return core::Status::memory_fault;
    }
  }
  return core::Status::ok;
}

}  // namespace firmware::target
