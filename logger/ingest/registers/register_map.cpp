#include "logger/ingest/registers/register_map.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>

#include "firmware-sim/core/modbus_frame.hpp"

namespace logger::ingest {

using analysis::base::ChannelStatus;

namespace {

std::uint32_t word_at(std::span<const std::uint8_t> bytes, std::size_t index) {
  return static_cast<std::uint32_t>(bytes[2 * index] << 8U | bytes[2 * index + 1]);
}

constexpr double kLeastFloat = 1e-6;  // below any resolution, in any unit

std::uint32_t end_of(const RegisterSource& source) {
  return source.address + std::uint32_t{registers_of(source.type)};
}

}  // namespace

double raw_from_registers(const RegisterSource& source, std::span<const std::uint8_t> bytes) {
  if (registers_of(source.type) == 1) {
    const auto word = static_cast<std::uint16_t>(word_at(bytes, 0));
    return source.type == RegisterType::i16 ? std::bit_cast<std::int16_t>(word) : word;
  }
  const std::size_t high = source.word_order == WordOrder::high_first ? 0 : 1;
  const std::uint32_t both = word_at(bytes, high) << 16U | word_at(bytes, 1 - high);
  switch (source.type) {
    case RegisterType::i32:
      return std::bit_cast<std::int32_t>(both);
    case RegisterType::f32:
      return std::bit_cast<float>(both);
    default:
      return both;
  }
}

RegisterReading reading_from_registers(const RegisterSource& source,
                                       std::span<const std::uint8_t> bytes) {
  const double value = raw_from_registers(source, bytes);
  const bool next_to_nothing = value != 0.0 && std::abs(value) < kLeastFloat;
  if (!std::isfinite(value) || next_to_nothing) {
    return {ChannelStatus::fault, 0};
  }
  const double count =
      source.type == RegisterType::f32 ? std::round(value * kCountsPerUnitOfFloat) : value;
  using Count = std::numeric_limits<std::int32_t>;
  const bool fits = count >= Count::min() && count <= Count::max();
  const std::int32_t raw_count = fits ? static_cast<std::int32_t>(count) : 0;
  const auto sentinel =
      std::find_if(source.sentinels.begin(), source.sentinels.end(),
                   [value](const RegisterSentinel& known) { return known.raw == value; });
  if (sentinel != source.sentinels.end()) {
    return {sentinel->status, raw_count};
  }
  return {fits ? ChannelStatus::ok : ChannelStatus::out_of_range, raw_count};
}

std::vector<RegisterSpan> spans_from_sources(std::span<const RegisterSource> sources) {
  std::vector<RegisterSource> ordered(sources.begin(), sources.end());
  std::sort(ordered.begin(), ordered.end(), [](const RegisterSource& a, const RegisterSource& b) {
    return std::pair(a.function, a.address) < std::pair(b.function, b.address);
  });
  std::vector<RegisterSpan> spans;
  for (const RegisterSource& source : ordered) {
    const std::uint32_t end = end_of(source);
    if (!spans.empty()) {
      RegisterSpan& last = spans.back();
      const std::uint32_t last_end = std::uint32_t{last.address} + last.quantity;
      const std::uint32_t joined = std::max(end, last_end) - last.address;
      if (last.function == source.function && source.address <= last_end &&
          joined <= firmware::core::kMaxReadRegisters) {
        last.quantity = static_cast<std::uint16_t>(joined);
        continue;
      }
    }
    spans.push_back({source.function, source.address, registers_of(source.type)});
  }
  return spans;
}

}  // namespace logger::ingest
