#include "firmware-sim/target/sensors/humidity_sensor.hpp"

#include <array>
#include <limits>

namespace firmware::target {
namespace {

constexpr std::uint8_t kPolynomial = 0x31;
constexpr std::uint32_t kFullScale = 65535;

constexpr std::uint8_t high_byte(std::uint16_t word) {
  return static_cast<std::uint8_t>(word >> 8U);
}

constexpr std::uint16_t word_at(std::span<const std::uint8_t> bytes, std::size_t at) {
  return static_cast<std::uint16_t>((bytes[at] << 8U) | bytes[at + 1]);
}

Reading reading_from_raw(std::uint16_t raw, const LinearScale& scale) {
  const std::uint32_t above = (std::uint32_t{scale.span} * raw + kFullScale / 2) / kFullScale;
  const std::int32_t counts = scale.low + static_cast<std::int32_t>(above);
  if (counts > std::numeric_limits<std::int16_t>::max()) {
    return {0, ReadingStatus::out_of_range};
  }
  return {static_cast<std::int16_t>(counts), ReadingStatus::ok};
}

}  // namespace

std::uint8_t crc8_of_word(std::uint16_t word) {
  std::uint8_t remainder = 0xff;
  for (const std::uint8_t byte : {high_byte(word), static_cast<std::uint8_t>(word)}) {
    remainder = static_cast<std::uint8_t>(remainder ^ byte);
    for (int bit = 0; bit < 8; ++bit) {
      const bool carry = (remainder & 0x80U) != 0;
      remainder = static_cast<std::uint8_t>(remainder << 1U);
      remainder = static_cast<std::uint8_t>(carry ? remainder ^ kPolynomial : remainder);
    }
  }
  return remainder;
}

void HumiditySensor::begin(std::uint64_t now_ms) {
  const std::array<std::uint8_t, 2> command{high_byte(part_.measure_command),
                                            static_cast<std::uint8_t>(part_.measure_command)};
  state_ = bus_.write(part_.address, command) ? State::converting : State::refused;
  // One tick more: begin() stands anywhere inside its tick.
  ready_ms_ = now_ms + part_.conversion_ms + 1;
}

bool HumiditySensor::poll(std::uint64_t now_ms, ClimateReading& reading) {
  reading = climate_without_counts(ReadingStatus::no_answer);
  if (state_ == State::idle || (state_ == State::converting && now_ms < ready_ms_)) {
    return false;
  }
  std::array<std::uint8_t, 6> bytes{};
  if (state_ == State::converting && bus_.read(part_.address, bytes)) {
    reading = reading_from_bytes(bytes);
  } else if (state_ == State::converting && now_ms < ready_ms_ + kGraceMs) {
    return false;  // some parts do not acknowledge before they are ready
  }
  state_ = State::idle;
  return true;
}

ClimateReading HumiditySensor::reading_from_bytes(std::span<const std::uint8_t, 6> bytes) const {
  const std::uint16_t temperature = word_at(bytes, 0);
  const std::uint16_t humidity = word_at(bytes, 3);
  if (crc8_of_word(temperature) != bytes[2] || crc8_of_word(humidity) != bytes[5]) {
    return climate_without_counts(ReadingStatus::no_answer);
  }
  return {reading_from_raw(temperature, part_.temperature),
          reading_from_raw(humidity, part_.humidity)};
}

}  // namespace firmware::target
