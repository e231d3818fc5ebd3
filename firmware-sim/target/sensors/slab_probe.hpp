// Driver of a generic RS-485 slab probe: a Modbus RTU device that gives temperature and relative
// humidity in two registers of one block. Where they stand and their scale are those of the probe's
// data sheet. One thread; nothing waits.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

#include "firmware-sim/core/modbus_frame.hpp"
#include "firmware-sim/target/sensors/byte_ports.hpp"
#include "firmware-sim/target/sensors/climate_reading.hpp"

namespace firmware::target {

// REQUIRES: function 03 or 04; temperature_at and humidity_at below quantity <= 125; scale above 0.
struct SlabProbeMap {
  std::uint8_t unit = 1;
  std::uint8_t function = core::kReadInputRegisters;
  std::uint16_t first_register = 0;
  std::uint16_t quantity = 2;
  std::uint16_t temperature_at = 0;    // i16, offset from first_register
  std::uint16_t humidity_at = 1;       // u16
  std::uint16_t centi_per_count = 10;  // of both: 10 = the probe counts tenths
  std::uint16_t reply_within_ms = 300;
};

class SlabProbe {
 public:
  static constexpr unsigned kAttempts = 2;

  // `line` outlives the driver and is its own.
  SlabProbe(SerialPort& line, const SlabProbeMap& map) : line_(line), map_(map) {}

  // Gives up a measurement begun before.
  void begin(std::uint64_t now_ms);
  // True once, when the outcome of begin() is there: at most kAttempts times the reply time later.
  // Both channels are no_answer without a whole reply, fault when the probe answers with an
  // exception; a value outside 0 to 100 %RH or too large for the wire is out_of_range.
  bool poll(std::uint64_t now_ms, ClimateReading& reading);

 private:
  [[nodiscard]] core::Request request() const;
  void ask(std::uint64_t now_ms);
  // True when a whole reply to our request came, good or an exception.
  bool take_reply(ClimateReading& reading);
  [[nodiscard]] ClimateReading reading_from(const core::Reply& reply) const;

  SerialPort& line_;
  SlabProbeMap map_;
  unsigned attempts_left_ = 0;
  bool asked_ = false;
  std::uint64_t asked_ms_ = 0;
  std::array<std::uint8_t, core::kMaxRtuFrame> reply_{};
  std::size_t reply_length_ = 0;
};

}  // namespace firmware::target
