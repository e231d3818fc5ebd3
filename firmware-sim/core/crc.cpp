#include "firmware-sim/core/crc.hpp"

#include <array>
#include <cstddef>

namespace firmware::core {
namespace {

// Remainders of the 16 nibbles for a reflected polynomial.
template <class Word>
constexpr std::array<Word, 16> nibble_table(Word reflected_polynomial) {
  std::array<Word, 16> table{};
  for (std::size_t nibble = 0; nibble < table.size(); ++nibble) {
    Word remainder = static_cast<Word>(nibble);
    for (int bit = 0; bit < 4; ++bit) {
      const bool carry = (remainder & 1U) != 0;
      remainder = static_cast<Word>(remainder >> 1U);
      if (carry) {
        remainder = static_cast<Word>(remainder ^ reflected_polynomial);
      }
    }
    table[nibble] = remainder;
  }
  return table;
}

constexpr auto kTable16 = nibble_table<std::uint16_t>(0xa001);
constexpr auto kTable32 = nibble_table<std::uint32_t>(0xedb88320);

template <class Word>
Word remainder_of(std::span<const std::uint8_t> bytes, const std::array<Word, 16>& table) {
  Word remainder = static_cast<Word>(~Word{0});
  for (const std::uint8_t byte : bytes) {
    remainder = static_cast<Word>(remainder ^ byte);
    remainder = static_cast<Word>((remainder >> 4U) ^ table[remainder & 0x0fU]);
    remainder = static_cast<Word>((remainder >> 4U) ^ table[remainder & 0x0fU]);
  }
  return remainder;
}

}  // namespace

std::uint16_t crc16_modbus(std::span<const std::uint8_t> bytes) {
  return remainder_of<std::uint16_t>(bytes, kTable16);
}

std::uint32_t crc32(std::span<const std::uint8_t> bytes) {
  return ~remainder_of<std::uint32_t>(bytes, kTable32);
}

}  // namespace firmware::core
