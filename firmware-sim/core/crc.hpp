// The two checksums of the box: CRC-16 of a Modbus RTU frame and CRC-32 of a record. Nibble tables
// (96 bytes) keep the code small. Freestanding, pure.
#pragma once

#include <cstdint>
#include <span>

namespace firmware::core {

// CRC-16/MODBUS: polynomial 0x8005 reflected, start 0xffff, no final xor. On the line the low byte
// comes first; over a frame with its CRC the result is 0.
// Source: MODBUS over Serial Line, Specification and Implementation Guide V1.02, section 2.5.1.2.
[[nodiscard]] std::uint16_t crc16_modbus(std::span<const std::uint8_t> bytes);

// CRC-32: polynomial 0x04c11db7 reflected, start and final xor 0xffffffff.
// Source: IEEE 802.3, section 3.2.9.
[[nodiscard]] std::uint32_t crc32(std::span<const std::uint8_t> bytes);

}  // namespace firmware::core
