// Driver of a generic I2C humidity and temperature part: a 16 bit command starts a measurement, and
// after its time two big endian words can be read, temperature first, each with a CRC-8 behind it.
// Command, time and scales are those of the part's data sheet. One thread; nothing waits.
#pragma once

#include <cstdint>
#include <span>

#include "firmware-sim/target/sensors/byte_ports.hpp"
#include "firmware-sim/target/sensors/climate_reading.hpp"

namespace firmware::target {

// CRC-8 of a word on the bus: polynomial 0x31, start 0xff, most significant bit first, no final
// xor.
[[nodiscard]] std::uint8_t crc8_of_word(std::uint16_t word);

// counts = low + span * raw / 65535, to the nearest count.
struct LinearScale {
  std::int16_t low = 0;
  std::uint16_t span = 0;
};

struct HumidityPart {
  std::uint8_t address = 0;  // 7 bit
  std::uint16_t measure_command = 0;
  std::uint16_t conversion_ms = 0;  // longest of the data sheet
  LinearScale temperature;          // to 0.01 deg C
  LinearScale humidity;             // to 0.01 %RH
};

class HumiditySensor {
 public:
  // `bus` outlives the driver.
  HumiditySensor(I2cPort& bus, const HumidityPart& part) : bus_(bus), part_(part) {}

  // Gives up a measurement begun before.
  void begin(std::uint64_t now_ms);
  // True once, when the outcome of begin() is there: at most kGraceMs after the conversion time.
  // Both channels are no_answer when the part did not acknowledge or a CRC-8 is wrong,
  // out_of_range when the counts do not fit the wire.
  bool poll(std::uint64_t now_ms, ClimateReading& reading);

  static constexpr std::uint64_t kGraceMs = 10;

 private:
  [[nodiscard]] ClimateReading reading_from_bytes(std::span<const std::uint8_t, 6> bytes) const;

  enum class State : std::uint8_t { idle, refused, converting };

  I2cPort& bus_;
  HumidityPart part_;
  State state_ = State::idle;
  std::uint64_t ready_ms_ = 0;
};

}  // namespace firmware::target
