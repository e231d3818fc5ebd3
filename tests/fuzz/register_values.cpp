// Fuzz target: what the registers of an off-the-shelf transmitter say, over any bytes, and which of
// them are read together, over any map. Values are compared with a second reading of the same bits.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <limits>
#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "firmware-sim/core/modbus_frame.hpp"
#include "logger/ingest/registers/register_map.hpp"
#include "tests/fuzz/fuzz_target.hpp"

namespace logger::ingest {
namespace {

using analysis::base::ChannelStatus;
using fuzz::require;

constexpr std::size_t kMaxSources = 24;
constexpr std::uint32_t kAddresses = 65536;

RegisterSource source_from(fuzz::ByteSource& input) {
  const std::uint8_t shape = input.u8();
  RegisterSource source;
  source.function = static_cast<std::uint8_t>(3 + (shape & 1U));
  source.word_order = (shape & 2U) != 0 ? WordOrder::low_first : WordOrder::high_first;
  source.type = static_cast<RegisterType>((shape >> 2U) % 5U);
  const std::uint32_t address = shape < 128 ? input.u8() : input.u16();
  source.address =
      static_cast<std::uint16_t>(std::min(address, kAddresses - registers_of(source.type)));
  return source;
}

// The value of the bits, put together another way than the code under test does.
double expected_value(const RegisterSource& source, std::array<std::uint8_t, 4> bytes) {
  if (registers_of(source.type) == 1) {
    const int word = bytes[0] * 256 + bytes[1];
    return source.type == RegisterType::i16 && word >= 32768 ? word - 65536 : word;
  }
  if (source.word_order == WordOrder::low_first) {
    std::swap(bytes[0], bytes[2]);
    std::swap(bytes[1], bytes[3]);
  }
  double both = 0.0;
  for (const std::uint8_t byte : bytes) {
    both = both * 256.0 + byte;
  }
  if (source.type == RegisterType::f32) {
    const auto bits = static_cast<std::uint32_t>(both);
    float value = 0.0F;
    std::memcpy(&value, &bits, sizeof value);
    return value;
  }
  return source.type == RegisterType::i32 && both >= 2147483648.0 ? both - 4294967296.0 : both;
}

bool same(double a, double b) { return a == b || (std::isnan(a) && std::isnan(b)); }

void check_reading(const RegisterSource& source, double value, std::optional<ChannelStatus> meant,
                   const RegisterReading& reading) {
  if (!std::isfinite(value)) {
    require(reading.status == ChannelStatus::fault && reading.raw_count == 0,
            "what is no number is a fault");
    return;
  }
  using Count = std::numeric_limits<std::int32_t>;
  const bool is_float = source.type == RegisterType::f32;
  const double count = is_float ? value * kCountsPerUnitOfFloat : value;
  const double rounding = is_float ? 0.5 : 0.0;
  const bool kept = std::fabs(reading.raw_count - count) <= rounding;
  if (meant) {
    require(reading.status == *meant, "a sentinel has its status and is not believed");
    require(kept || reading.raw_count == 0, "a sentinel keeps its count");
  } else if (count - rounding > Count::max() || count + rounding < Count::min()) {
    require(reading.status == ChannelStatus::out_of_range && reading.raw_count == 0,
            "a value that no count can hold is out of range");
  } else if (count + rounding <= Count::max() && count - rounding >= Count::min()) {
    require(reading.status == ChannelStatus::ok && kept, "any other value is kept");
  }
}

void try_value(fuzz::ByteSource& input) {
  RegisterSource source = source_from(input);
  const std::uint8_t sentinels = input.u8() % 4U;
  std::array<std::uint8_t, 4> bytes{};
  const auto given = input.take(bytes.size());
  std::copy(given.begin(), given.end(), bytes.begin());
  const double value = expected_value(source, bytes);
  std::optional<ChannelStatus> meant;  // by the first sentinel that is the value
  for (std::uint8_t i = 0; i < sentinels; ++i) {
    const std::uint8_t pick = input.u8();
    const double raw = pick < 64 ? value : pick < 128 ? -32768.0 : 65535.0;
    source.sentinels.push_back({raw, static_cast<ChannelStatus>(1 + pick % 7U)});
    meant = meant || raw != value ? meant : source.sentinels.back().status;
  }
  const auto registers = std::span(bytes).first(2U * registers_of(source.type));
  require(same(raw_from_registers(source, registers), value), "a value is what its bits say");
  check_reading(source, value, meant, reading_from_registers(source, registers));
}

bool covers(const RegisterSpan& span, const RegisterSource& source) {
  return span.function == source.function && span.address <= source.address &&
         source.address + std::uint32_t{registers_of(source.type)} <=
             span.address + std::uint32_t{span.quantity};
}

void try_spans(fuzz::ByteSource& input) {
  std::vector<RegisterSource> sources;
  while (!input.empty() && sources.size() < kMaxSources) {
    sources.push_back(source_from(input));
  }
  const std::vector<RegisterSpan> spans = spans_from_sources(sources);
  for (const RegisterSource& source : sources) {
    require(std::any_of(spans.begin(), spans.end(),
                        [&](const RegisterSpan& span) { return covers(span, source); }),
            "every source lies within one span");
  }
  const RegisterSpan* before = nullptr;
  for (const RegisterSpan& span : spans) {
    require(span.quantity >= 1 && span.quantity <= firmware::core::kMaxReadRegisters,
            "a span is one request");
    require(span.address + std::uint32_t{span.quantity} <= kAddresses,
            "a span ends where addresses end");
    require(before == nullptr || std::pair(before->function, before->address) <
                                     std::pair(span.function, span.address),
            "spans are in order, none twice");
    before = &span;
    for (std::uint32_t address = span.address;
         address < span.address + std::uint32_t{span.quantity}; ++address) {
      require(std::any_of(sources.begin(), sources.end(),
                          [&](const RegisterSource& source) {
                            return source.function == span.function && source.address <= address &&
                                   address <
                                       source.address + std::uint32_t{registers_of(source.type)};
                          }),
              "no register is asked for that no source names");
    }
  }
}

}  // namespace
}  // namespace logger::ingest

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  fuzz::ByteSource input({data, size});
  if (input.u8() % 2 == 0) {
    logger::ingest::try_value(input);
  } else {
    logger::ingest::try_spans(input);
  }
  return 0;
}
