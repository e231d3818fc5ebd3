#include "firmware-sim/target/sensors/i2c_bus.hpp"

namespace firmware::target {
namespace {

constexpr unsigned kReadBit = 1;

std::uint8_t first_byte(std::uint8_t address, unsigned read_bit) {
  return static_cast<std::uint8_t>((unsigned{address} << 1U) | read_bit);
}

}  // namespace

void I2cBus::set_data(bool high) {
  wires_.set_data(high);
  wires_.wait_us(kHalfBitUs);
}

void I2cBus::set_clock(bool high) {
  wires_.set_clock(high);
  while (high && !hangs_ && !wires_.clock_is_high()) {
    hangs_ = stretch_left_us_ < kHalfBitUs;
    stretch_left_us_ -= hangs_ ? 0 : kHalfBitUs;
    wires_.wait_us(kHalfBitUs);
  }
  wires_.wait_us(kHalfBitUs);
}

// Whoever was interrupted while sending a 0 lets go within nine clocks.
void I2cBus::free_data() {
  set_data(true);
  for (unsigned clock = 0; clock < 9 && !wires_.data_is_high(); ++clock) {
    set_clock(false);
    set_clock(true);
  }
  hangs_ = hangs_ || !wires_.data_is_high();
}

void I2cBus::begin() {
  stretch_left_us_ = kStretchUs;
  hangs_ = false;
  free_data();
  set_clock(true);
  set_data(false);
  set_clock(false);
}

void I2cBus::end() {
  set_data(false);
  set_clock(true);
  set_data(true);
}

// Sends a 1 to read: whoever else pulls the wire is seen.
bool I2cBus::exchange_bit(bool high) {
  set_data(high);
  set_clock(true);
  const bool seen = wires_.data_is_high();
  set_clock(false);
  return seen;
}

// False: not acknowledged.
bool I2cBus::send_byte(std::uint8_t byte) {
  for (unsigned bit = 8; bit > 0 && !hangs_; --bit) {
    exchange_bit(((byte >> (bit - 1)) & 1U) != 0);
  }
  return !hangs_ && !exchange_bit(true) && !hangs_;
}

std::uint8_t I2cBus::receive_byte(bool more) {
  unsigned byte = 0;
  for (unsigned bit = 0; bit < 8 && !hangs_; ++bit) {
    byte = (byte << 1U) | (exchange_bit(true) ? 1U : 0U);
  }
  exchange_bit(!more);
  return static_cast<std::uint8_t>(byte);
}

bool I2cBus::write(std::uint8_t address, std::span<const std::uint8_t> bytes) {
  begin();
  bool acknowledged = !hangs_ && send_byte(first_byte(address, 0));
  for (std::size_t i = 0; acknowledged && i < bytes.size(); ++i) {
    acknowledged = send_byte(bytes[i]);
  }
  end();
  return acknowledged && !hangs_;
}

bool I2cBus::read(std::uint8_t address, std::span<std::uint8_t> into) {
  begin();
  const bool acknowledged = !hangs_ && send_byte(first_byte(address, kReadBit));
  for (std::size_t i = 0; acknowledged && !hangs_ && i < into.size(); ++i) {
    into[i] = receive_byte(i + 1 < into.size());
  }
  end();
  return acknowledged && !hangs_;
}

}  // namespace firmware::target
