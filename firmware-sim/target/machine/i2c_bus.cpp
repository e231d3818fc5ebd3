#include "firmware-sim/target/machine/i2c_bus.hpp"

#include "firmware-sim/target/machine/board.hpp"
#include "firmware-sim/target/machine/registers.hpp"

namespace firmware::target::machine {
namespace {

constexpr std::uint32_t kHalfBitUs = 5;
constexpr std::uint8_t kReadBit = 1;

void set(std::uint32_t wire, bool high) {
  register_at(high ? kI2cRelease : kI2cPull) = wire;
  wait_us(kHalfBitUs);
}

bool data_is_high() { return (register_at(kI2cRelease) & kI2cData) != 0; }

void begin() {
  set(kI2cData, true);
  set(kI2cClock, true);
  set(kI2cData, false);
  set(kI2cClock, false);
}

void end() {
  set(kI2cData, false);
  set(kI2cClock, true);
  set(kI2cData, true);
}

// Sends a 1 to read: whoever else pulls the wire is seen.
bool exchange_bit(bool high) {
  set(kI2cData, high);
  set(kI2cClock, true);
  const bool seen = data_is_high();
  set(kI2cClock, false);
  return seen;
}

// False: not acknowledged.
bool send_byte(std::uint8_t byte) {
  for (unsigned bit = 8; bit > 0; --bit) {
    exchange_bit(((byte >> (bit - 1)) & 1U) != 0);
  }
  return !exchange_bit(true);
}

std::uint8_t receive_byte(bool more) {
  unsigned byte = 0;
  for (unsigned bit = 0; bit < 8; ++bit) {
    byte = (byte << 1U) | (exchange_bit(true) ? 1U : 0U);
  }
  exchange_bit(!more);
  return static_cast<std::uint8_t>(byte);
}

std::uint8_t first_byte(std::uint8_t address, std::uint8_t read_bit) {
  return static_cast<std::uint8_t>((address << 1U) | read_bit);
}

}  // namespace

bool I2cBus::write(std::uint8_t address, std::span<const std::uint8_t> bytes) {
  begin();
  bool acknowledged = send_byte(first_byte(address, 0));
  for (std::size_t i = 0; acknowledged && i < bytes.size(); ++i) {
    acknowledged = send_byte(bytes[i]);
  }
  end();
  return acknowledged;
}

bool I2cBus::read(std::uint8_t address, std::span<std::uint8_t> into) {
  begin();
  const bool acknowledged = send_byte(first_byte(address, kReadBit));
  for (std::size_t i = 0; acknowledged && i < into.size(); ++i) {
    into[i] = receive_byte(i + 1 < into.size());
  }
  end();
  return acknowledged;
}

}  // namespace firmware::target::machine
