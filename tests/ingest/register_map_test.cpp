// Golden registers: what the bytes of a transmitter mean. Bit patterns of floats: IEEE 754-2008,
// worked by hand.
#include "logger/ingest/registers/register_map.hpp"

#include <catch2/catch.hpp>
#include <limits>

#include "tests/ingest/line_bench.hpp"

using analysis::base::ChannelStatus;
using ingest_test::bytes_from_hex;
using logger::ingest::RegisterReading;
using logger::ingest::RegisterSource;
using logger::ingest::RegisterSpan;
using logger::ingest::RegisterType;
using logger::ingest::WordOrder;

namespace {

RegisterSource source_of(RegisterType type, WordOrder order = WordOrder::high_first) {
  RegisterSource source;
  source.type = type;
  source.word_order = order;
  return source;
}

RegisterReading reading(const RegisterSource& source, const std::string& hex) {
  return reading_from_registers(source, bytes_from_hex(hex));
}

RegisterSource at(std::uint8_t function, std::uint16_t address,
                  RegisterType type = RegisterType::i16) {
  RegisterSource source = source_of(type);
  source.function = function;
  source.address = address;
  return source;
}

}  // namespace

TEST_CASE("SixteenBitRegistersKeepSignAndSize") {
  struct Golden {
    RegisterType type;
    const char* hex;
    std::int32_t count;
  };
  const Golden golden[] = {
      {RegisterType::i16, "F0 60", -4000}, {RegisterType::i16, "00 00", 0},
      {RegisterType::i16, "21 34", 8500},  {RegisterType::i16, "80 00", -32768},
      {RegisterType::u16, "F0 60", 61536}, {RegisterType::u16, "FF FF", 65535},
      {RegisterType::u16, "27 10", 10000}};
  for (const Golden& entry : golden) {
    INFO(entry.hex);
    const RegisterReading found = reading(source_of(entry.type), entry.hex);
    CHECK(found.status == ChannelStatus::ok);
    CHECK(found.raw_count == entry.count);
  }
}

TEST_CASE("WordOrderDecidesWhatAWideValueIs") {
  // -40 = 0xFFFFFFD8; 85000 = 0x00014C08.
  CHECK(reading(source_of(RegisterType::i32), "FF FF FF D8").raw_count == -40);
  CHECK(reading(source_of(RegisterType::i32, WordOrder::low_first), "FF D8 FF FF").raw_count ==
        -40);
  CHECK(reading(source_of(RegisterType::u32), "00 01 4C 08").raw_count == 85000);
  CHECK(reading(source_of(RegisterType::u32, WordOrder::low_first), "4C 08 00 01").raw_count ==
        85000);
  // Read in the wrong order the same registers are another number, not a near one.
  CHECK(reading(source_of(RegisterType::u32), "4C 08 00 01").raw_count == 1275592705);
}

TEST_CASE("FloatsAreKeptInThousandths") {
  // 21.5 = 0x41AC0000, -40 = 0xC2200000, 48.75 = 0x42430000, 0.0004 = 0x39D1B717.
  const RegisterSource high = source_of(RegisterType::f32);
  CHECK(reading(high, "41 AC 00 00").raw_count == 21500);
  CHECK(reading(high, "C2 20 00 00").raw_count == -40000);
  CHECK(reading(high, "39 D1 B7 17").raw_count == 0);
  CHECK(reading(source_of(RegisterType::f32, WordOrder::low_first), "00 00 42 43").raw_count ==
        48750);
}

TEST_CASE("WhatIsNoReadingGivesAStatusAndNoClamp") {
  const RegisterSource real = source_of(RegisterType::f32);
  CHECK(reading(real, "7F C0 00 00").status == ChannelStatus::fault);  // not a number
  CHECK(reading(real, "FF 80 00 00").status == ChannelStatus::fault);  // minus infinity
  CHECK(reading(real, "00 00 41 AC").status == ChannelStatus::fault);  // 21.5, swapped
  CHECK(reading(real, "00 00 00 00").status == ChannelStatus::ok);
  CHECK(reading(real, "B5 86 37 BD").status == ChannelStatus::fault);  // -1e-6 and a little less
  CHECK(reading(real, "B6 86 37 BD").status == ChannelStatus::ok);     // -4e-6
  CHECK(reading(real, "4B 18 96 80").status == ChannelStatus::out_of_range);  // 1e7
  const RegisterReading largest = reading(source_of(RegisterType::u32), "80 00 00 00");
  CHECK(largest.status == ChannelStatus::out_of_range);
  CHECK(largest.raw_count == 0);
  CHECK(reading(source_of(RegisterType::u32), "7F FF FF FF").raw_count ==
        std::numeric_limits<std::int32_t>::max());
}

TEST_CASE("ASentinelKeepsItsCountAndSaysWhatItMeans") {
  RegisterSource source = source_of(RegisterType::i16);
  source.sentinels = {{-32768, ChannelStatus::open_circuit}, {32767, ChannelStatus::short_circuit}};
  const RegisterReading open = reading(source, "80 00");
  CHECK(open.status == ChannelStatus::open_circuit);
  CHECK(open.raw_count == -32768);
  CHECK(reading(source, "7F FF").status == ChannelStatus::short_circuit);
  CHECK(reading(source, "80 01").status == ChannelStatus::ok);
  RegisterSource wide = source_of(RegisterType::u32);
  wide.sentinels = {{4294967295.0, ChannelStatus::no_answer}};
  CHECK(reading(wide, "FF FF FF FF").status == ChannelStatus::no_answer);
}

TEST_CASE("OnlyNamedRegistersAreReadAndNeighboursTogether") {
  using Spans = std::vector<RegisterSpan>;
  CHECK(spans_from_sources(std::vector{at(4, 1), at(4, 0)}) == Spans{{4, 0, 2}});
  CHECK(spans_from_sources(std::vector{at(4, 0), at(4, 2)}) == Spans{{4, 0, 1}, {4, 2, 1}});
  CHECK(spans_from_sources(std::vector{at(3, 0), at(4, 1)}) == Spans{{3, 0, 1}, {4, 1, 1}});
  CHECK(spans_from_sources(std::vector{at(3, 10, RegisterType::f32), at(3, 11), at(3, 12)}) ==
        Spans{{3, 10, 3}});
  CHECK(spans_from_sources(std::vector{at(3, 65534, RegisterType::f32)}) == Spans{{3, 65534, 2}});
  std::vector<RegisterSource> many;
  for (std::uint16_t i = 0; i < 130; ++i) {
    many.push_back(at(3, i));
  }
  CHECK(spans_from_sources(many) == Spans{{3, 0, 125}, {3, 125, 5}});
}
