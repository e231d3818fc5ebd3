// The lines that bytes come and go on, as ports: drivers are written against these, machines and
// tests implement them. One thread; nothing here waits.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>

namespace firmware::target {

// A serial line, full or half duplex.
class SerialPort {
 public:
  SerialPort() = default;
  SerialPort(const SerialPort&) = delete;
  SerialPort& operator=(const SerialPort&) = delete;
  // Takes the bytes that have come, at most into.size(); returns how many.
  virtual std::size_t receive(std::span<std::uint8_t> into) = 0;
  // Sends all of `bytes` in the background; false, and nothing sent, when there is no room now.
  virtual bool send(std::span<const std::uint8_t> bytes) = 0;

 protected:
  ~SerialPort() = default;
};

// An I2C bus with this end as its controller. Addresses are 7 bit.
class I2cPort {
 public:
  I2cPort() = default;
  I2cPort(const I2cPort&) = delete;
  I2cPort& operator=(const I2cPort&) = delete;
  // False: not acknowledged, or the bus hangs.
  virtual bool write(std::uint8_t address, std::span<const std::uint8_t> bytes) = 0;
  virtual bool read(std::uint8_t address, std::span<std::uint8_t> into) = 0;

 protected:
  ~I2cPort() = default;
};

}  // namespace firmware::target
