#include "firmware-sim/sim/box/transmitter.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <limits>
#include <map>
#include <utility>

#include "firmware-sim/core/modbus_frame.hpp"

namespace firmware::sim::box {
namespace {

constexpr unsigned kBitsPerWord = 16;

double fahrenheit_from(double celsius) { return celsius * 1.8 + 32.0; }

template <class Integer>
std::uint32_t bits_of(double raw) {
  const double rounded = std::clamp(std::round(raw), double{std::numeric_limits<Integer>::min()},
                                    double{std::numeric_limits<Integer>::max()});
  return static_cast<std::uint32_t>(static_cast<Integer>(rounded));
}

std::uint32_t bits_from_raw(double raw, NumberType type) {
  switch (type) {
    case NumberType::i16:
      return bits_of<std::int16_t>(raw) & 0xffffU;
    case NumberType::u16:
      return bits_of<std::uint16_t>(raw);
    case NumberType::i32:
      return bits_of<std::int32_t>(raw);
    case NumberType::u32:
      return bits_of<std::uint32_t>(raw);
    case NumberType::f32:
      break;
  }
  return std::bit_cast<std::uint32_t>(static_cast<float>(raw));
}

std::vector<std::uint8_t> exception_to(const core::Request& request, std::uint8_t code) {
  std::array<std::uint8_t, core::kMaxRtuFrame> frame{};
  std::size_t length = 0;
  (void)core::build_exception(request, code, frame, length);
  return {frame.begin(), frame.begin() + static_cast<std::ptrdiff_t>(length)};
}

}  // namespace

double value_from_truth(const site::SiteState& truth, Quantity quantity) {
  switch (quantity) {
    case Quantity::air_temperature:
      return truth.air_temperature.value();
    case Quantity::air_rh:
      return percent_from_rh(truth.air_rh);
    case Quantity::core_temperature:
      return truth.core_temperature.value();
    case Quantity::slab_surface_temperature:
      return truth.slab_surface_temperature.value();
    case Quantity::slab_rh:
      return percent_from_rh(truth.slab_rh);
    case Quantity::outdoor_temperature:
      return truth.outdoor_temperature.value();
    case Quantity::outdoor_rh:
      return percent_from_rh(truth.outdoor_rh);
    case Quantity::supply:
      break;  // of the device, not of the site
  }
  return 0.0;
}

std::size_t register_count_of(NumberType type) {
  return type == NumberType::i16 || type == NumberType::u16 ? 1 : 2;
}

Transmitter::Transmitter(TransmitterSetup setup, std::uint64_t seed)
    : setup_(std::move(setup)), conditions_(setup_.registers.size()), noise_(seed) {}

void Transmitter::hold(std::size_t index, double raw) { conditions_.at(index).held_raw = raw; }

void Transmitter::freeze(std::size_t index) { conditions_.at(index).frozen = true; }

void Transmitter::free(std::size_t index) { conditions_.at(index) = {}; }

double Transmitter::raw_of(std::size_t index, const site::SiteState& truth) {
  const TransmitterRegister& wanted = setup_.registers[index];
  Condition& condition = conditions_[index];
  if (condition.held_raw) {
    return *condition.held_raw;
  }
  if (condition.frozen && condition.last_raw) {
    return *condition.last_raw;
  }
  double value = wanted.quantity == Quantity::supply ? setup_.supply_volt
                                                     : value_from_truth(truth, wanted.quantity);
  value += wanted.noise_sd * noise_.gaussian();
  value = wanted.fahrenheit ? fahrenheit_from(value) : value;
  value = wanted.fraction ? value / 100.0 : value;
  value = wanted.millivolt ? value * 1000.0 : value;
  condition.last_raw = (value - wanted.offset) / wanted.scale;
  return *condition.last_raw;
}

std::vector<std::uint16_t> Transmitter::words_of(std::size_t index, const site::SiteState& truth) {
  const TransmitterRegister& wanted = setup_.registers[index];
  const std::uint32_t bits = bits_from_raw(raw_of(index, truth), wanted.type);
  const auto low = static_cast<std::uint16_t>(bits & 0xffffU);
  const auto high = static_cast<std::uint16_t>(bits >> kBitsPerWord);
  if (register_count_of(wanted.type) == 1) {
    return {low};
  }
  const bool low_first = wanted.low_word_first != words_flipped_;
  return low_first ? std::vector{low, high} : std::vector{high, low};
}

std::vector<std::uint8_t> Transmitter::answer(std::span<const std::uint8_t> frame,
                                              const site::SiteState& truth) {
  core::Request request;
  const core::FrameStatus status = core::parse_request(frame, request);
  if (!powered_ || frame.empty() || frame[0] != setup_.unit ||
      status == core::FrameStatus::crc_mismatch || status == core::FrameStatus::too_short) {
    return {};
  }
  if (request.function != core::kReadHoldingRegisters &&
      request.function != core::kReadInputRegisters) {
    return exception_to(request, core::kIllegalFunction);
  }
  if (status != core::FrameStatus::ok) {
    return exception_to(request, core::kIllegalDataValue);
  }
  std::map<unsigned, std::uint16_t> words;
  for (std::size_t i = 0; i < setup_.registers.size(); ++i) {
    if (setup_.registers[i].function == request.function) {
      unsigned address = setup_.registers[i].address;
      for (const std::uint16_t word : words_of(i, truth)) {
        words[address++] = word;
      }
    }
  }
  std::vector<std::uint8_t> bytes;
  for (unsigned i = 0; i < request.quantity; ++i) {
    const auto found = words.find(request.address + i);
    if (found == words.end()) {
      return exception_to(request, core::kIllegalDataAddress);
    }
    bytes.push_back(static_cast<std::uint8_t>(found->second >> 8U));
    bytes.push_back(static_cast<std::uint8_t>(found->second & 0xffU));
  }
  std::array<std::uint8_t, core::kMaxRtuFrame> reply{};
  std::size_t length = 0;
  (void)core::build_read_reply(request, bytes, reply, length);
  return {reply.begin(), reply.begin() + static_cast<std::ptrdiff_t>(length)};
}

}  // namespace firmware::sim::box
