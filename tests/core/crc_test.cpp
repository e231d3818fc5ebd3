#include "firmware-sim/core/crc.hpp"

#include <array>
#include <catch2/catch.hpp>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

using namespace firmware::core;

namespace {
std::vector<std::uint8_t> bytes_from(std::string_view text) { return {text.begin(), text.end()}; }
}  // namespace

// Source: the check value published for CRC-16/MODBUS in a public catalogue of CRC parameters.
TEST_CASE("Crc16OfTheCheckStringIsThePublishedValue") {
  CHECK(crc16_modbus(bytes_from("123456789")) == 0x4b37);
}

// Source: the check value published for CRC-32 (IEEE 802.3) in the same catalogue.
TEST_CASE("Crc32OfTheCheckStringIsThePublishedValue") {
  CHECK(crc32(bytes_from("123456789")) == 0xcbf43926);
}

// Source: the CRC example 02 07 -> 0x1241 of MODBUS over Serial Line V1.02; the other frames are
// the read and write examples commonly printed with the protocol.
TEST_CASE("Crc16OfPublishedFramesFitsAndLeavesNoRemainder") {
  const std::vector<std::vector<std::uint8_t>> frames = {
      {0x02, 0x07, 0x41, 0x12},
      {0x11, 0x03, 0x00, 0x6b, 0x00, 0x03, 0x76, 0x87},
      {0x01, 0x03, 0x00, 0x02, 0x00, 0x01, 0x25, 0xca},
      {0x01, 0x03, 0x00, 0x00, 0x00, 0x04, 0x44, 0x09},
      {0x11, 0x01, 0x00, 0x13, 0x00, 0x25, 0x0e, 0x84},
      {0x11, 0x01, 0x05, 0xcd, 0x6b, 0xb2, 0x0e, 0x1b, 0x45, 0xe6},
      {0x10, 0x06, 0x02, 0x02, 0x00, 0x03, 0x6a, 0xf2},
  };
  for (const auto& frame : frames) {
    const auto body = std::span(frame).first(frame.size() - 2);
    const std::uint16_t crc = crc16_modbus(body);
    CHECK((crc & 0xffU) == frame[frame.size() - 2]);
    CHECK((crc >> 8U) == frame[frame.size() - 1]);
    CHECK(crc16_modbus(frame) == 0);
  }
}

TEST_CASE("CrcOfNothingIsItsStartValue") {
  CHECK(crc16_modbus({}) == 0xffff);
  CHECK(crc32({}) == 0);
}
