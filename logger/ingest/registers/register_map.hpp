// What the registers of an off-the-shelf transmitter mean, as its papers tell it and job.json says
// it: types, word order, sentinels, and which registers are read together. Pure; any thread.
#pragma once

#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "analysis/base/record.hpp"

namespace logger::ingest {

// A register has 16 bits, high byte first. 32-bit types take two registers.
enum class RegisterType : std::uint8_t { i16, u16, i32, u32, f32 };
// Of the two registers of a 32-bit value; both orders are in use.
enum class WordOrder : std::uint8_t { high_first, low_first };

[[nodiscard]] constexpr std::uint16_t registers_of(RegisterType type) {
  return type == RegisterType::i16 || type == RegisterType::u16 ? 1 : 2;
}

// A value that stands for something else, such as -32768 for an open circuit.
struct RegisterSentinel {
  double raw = 0.0;  // as the register's type reads it, before any scale
  analysis::base::ChannelStatus status = analysis::base::ChannelStatus::fault;
};

struct RegisterSource {
  std::uint8_t function = 3;  // 3 or 4
  std::uint16_t address = 0;  // as in the frame, counted from 0
  RegisterType type = RegisterType::i16;
  WordOrder word_order = WordOrder::high_first;
  std::vector<RegisterSentinel> sentinels;
};

// A register that tells this device from any other, where its papers name one.
struct DeviceIdentity {
  RegisterSource source;
  double raw = 0.0;  // as the register's type reads it
};

// As the type reads them; a double holds each of these types exactly.
// REQUIRES: two bytes for each of registers_of(source.type).
[[nodiscard]] double raw_from_registers(const RegisterSource& source,
                                        std::span<const std::uint8_t> bytes);

// A float is kept as a count of thousandths of its own unit, rounded to the nearest.
inline constexpr double kCountsPerUnitOfFloat = 1000.0;

// What a record keeps of one channel. The count of an integer is the register's own value.
struct RegisterReading {
  analysis::base::ChannelStatus status = analysis::base::ChannelStatus::no_answer;
  std::int32_t raw_count = 0;
};

// A sentinel has its status and its count; a float that is no number is a fault, and so is one next
// to nothing but not zero, which no sensor gives but swapped words do; a value that a count of 32
// bits can't hold is out_of_range, with count 0. REQUIRES: as raw_from_registers.
[[nodiscard]] RegisterReading reading_from_registers(const RegisterSource& source,
                                                     std::span<const std::uint8_t> bytes);

// Registers read in one request.
struct RegisterSpan {
  std::uint8_t function = 3;
  std::uint16_t address = 0;
  std::uint16_t quantity = 0;
  bool operator==(const RegisterSpan&) const = default;
};

// Covers every source, each within one span; registers that no source names are never asked for,
// since many devices refuse them. By function and address; at most 125 registers each.
[[nodiscard]] std::vector<RegisterSpan> spans_from_sources(std::span<const RegisterSource> sources);

}  // namespace logger::ingest
