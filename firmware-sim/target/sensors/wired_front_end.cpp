#include "firmware-sim/target/sensors/wired_front_end.hpp"

namespace firmware::target {
namespace {

// Channels of the register map, as a box is wired by default.
constexpr std::size_t kAirTemperature = 0;
constexpr std::size_t kAirHumidity = 1;
constexpr std::size_t kCoreTemperature = 2;
constexpr std::size_t kSlabTemperature = 3;
constexpr std::size_t kSlabHumidity = 4;
constexpr std::size_t kSupply = 5;

void put(const Reading& reading, std::size_t channel, core::Sample& sample) {
  sample.raw_counts[channel] = reading.counts;
  sample.statuses[channel] = static_cast<std::uint8_t>(reading.status);
}

}  // namespace

void WiredFrontEnd::watch(std::uint64_t now_ms) {
  parts_.lid.watch(now_ms);
  parts_.tilt.watch(now_ms);
}

void WiredFrontEnd::begin(std::uint64_t now_ms) {
  parts_.air.begin(now_ms);
  parts_.core.begin(now_ms);
  parts_.slab.begin(now_ms);
  from_air_.awaited = from_core_.awaited = from_slab_.awaited = true;
  begun_ = true;
}

bool WiredFrontEnd::poll(std::uint64_t now_ms, core::Sample& sample) {
  const auto await = [now_ms](auto& sensor, Outcome& outcome) {
    outcome.awaited = outcome.awaited && !sensor.poll(now_ms, outcome.reading);
    return !outcome.awaited;
  };
  const bool air = await(parts_.air, from_air_);
  const bool cartons = await(parts_.core, from_core_);
  const bool slab = await(parts_.slab, from_slab_);
  if (!begun_ || !air || !cartons || !slab) {
    return false;
  }
  begun_ = false;
  sample = core::Sample{};
  sample.statuses.fill(static_cast<std::uint8_t>(ReadingStatus::not_fitted));
  put(from_air_.reading.temperature, kAirTemperature, sample);
  put(from_air_.reading.humidity, kAirHumidity, sample);
  put(from_core_.reading.temperature, kCoreTemperature, sample);
  put(from_slab_.reading.temperature, kSlabTemperature, sample);
  put(from_slab_.reading.humidity, kSlabHumidity, sample);
  put(parts_.supply.measure(), kSupply, sample);
  sample.flags = take_flags();
  return true;
}

std::uint16_t WiredFrontEnd::take_flags() {
  unsigned flags = 0;
  flags |= parts_.lid.take_seen() ? core::kFlagLidOpen : 0U;
  flags |= parts_.tilt.take_seen() ? core::kFlagTilted : 0U;
  flags |= parts_.supply.is_low() ? core::kFlagSupplyLow : 0U;
  return static_cast<std::uint16_t>(flags);
}

}  // namespace firmware::target
