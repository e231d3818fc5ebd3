// The lines that bytes come and go on and single pins, as ports: drivers are written against these,
// machines and tests implement them. One thread; nothing here waits unless it says so.
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

// The two open-drain wires of such a bus: pulled down by anyone, else high.
class I2cWires {
 public:
  I2cWires() = default;
  I2cWires(const I2cWires&) = delete;
  I2cWires& operator=(const I2cWires&) = delete;
  virtual void set_clock(bool high) = 0;  // high: lets go of it
  virtual void set_data(bool high) = 0;
  [[nodiscard]] virtual bool clock_is_high() const = 0;
  [[nodiscard]] virtual bool data_is_high() const = 0;
  virtual void wait_us(std::uint32_t us) = 0;  // busy for at least this long; below 1000

 protected:
  ~I2cWires() = default;
};

class InputPin {
 public:
  InputPin() = default;
  InputPin(const InputPin&) = delete;
  InputPin& operator=(const InputPin&) = delete;
  [[nodiscard]] virtual bool is_high() const = 0;

 protected:
  ~InputPin() = default;
};

class OutputPin {
 public:
  OutputPin() = default;
  OutputPin(const OutputPin&) = delete;
  OutputPin& operator=(const OutputPin&) = delete;
  virtual void set(bool high) = 0;

 protected:
  ~OutputPin() = default;
};

class AnalogInput {
 public:
  AnalogInput() = default;
  AnalogInput(const AnalogInput&) = delete;
  AnalogInput& operator=(const AnalogInput&) = delete;
  // Counts of one conversion, which takes microseconds.
  [[nodiscard]] virtual std::uint16_t convert() = 0;

 protected:
  ~AnalogInput() = default;
};

// Calls whoever was given to it once, from an interrupt.
class OneShotTimer {
 public:
  OneShotTimer() = default;
  OneShotTimer(const OneShotTimer&) = delete;
  OneShotTimer& operator=(const OneShotTimer&) = delete;
  // A time that still runs is given up.
  virtual void start_us(std::uint32_t us) = 0;

 protected:
  ~OneShotTimer() = default;
};

}  // namespace firmware::target
