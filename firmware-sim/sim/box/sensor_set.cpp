#include "firmware-sim/sim/box/sensor_set.hpp"

#include <cmath>
#include <limits>

#include "analysis/base/record.hpp"

namespace firmware::sim::box {
namespace {

using analysis::base::ChannelStatus;

constexpr std::size_t kSupply = 5;
constexpr double kHundredths = 100.0;   // counts per deg C and per %RH
constexpr double kMillivolts = 1000.0;  // counts per V

constexpr std::uint8_t wire(ChannelStatus status) { return static_cast<std::uint8_t>(status); }

struct Reading {
  std::int16_t counts = 0;
  std::uint8_t status = wire(ChannelStatus::ok);
};

// Outside its range the sensor says so and gives no counts; so does the box when the counts do not
// fit the wire.
Reading reading_of(double value, double counts_per_unit, const SensorSpec& spec) {
  const double counts = std::round(value * counts_per_unit);
  if (value < spec.low || value > spec.high || counts < std::numeric_limits<std::int16_t>::min() ||
      counts > std::numeric_limits<std::int16_t>::max()) {
    return {0, wire(ChannelStatus::out_of_range)};
  }
  return {static_cast<std::int16_t>(counts), wire(ChannelStatus::ok)};
}

}  // namespace

SensorSet::SensorSet(const SensorParameters& parameters, std::uint64_t seed)
    : parameters_(parameters), noise_(seed) {
  for (std::size_t channel = 0; channel < kFittedChannels; ++channel) {
    bias_[channel] = parameters_.channels[channel].bias_sd * noise_.gaussian();
  }
}

void SensorSet::set_status(std::size_t channel, std::uint8_t status) {
  forced_status_.at(channel) = status;
}

core::Sample SensorSet::measure(const site::SiteState& truth, analysis::base::Micros powered_for) {
  const double days = analysis::base::hours_from(powered_for) / 24.0;
  const std::array<double, kFittedChannels> values{
      truth.air_temperature.value(),
      percent_from_rh(truth.air_rh),
      truth.core_temperature.value(),
      truth.slab_surface_temperature.value(),
      percent_from_rh(truth.slab_rh),
      parameters_.supply_start_volt - parameters_.supply_fall_volt_per_day * days};
  core::Sample sample;
  sample.statuses.fill(wire(ChannelStatus::not_fitted));
  for (std::size_t channel = 0; channel < kFittedChannels; ++channel) {
    const SensorSpec& spec = parameters_.channels[channel];
    const double measured = values[channel] + bias_[channel] + spec.noise_sd * noise_.gaussian();
    Reading reading = reading_of(measured, channel == kSupply ? kMillivolts : kHundredths, spec);
    if (forced_status_[channel] != wire(ChannelStatus::ok)) {
      reading = {0, forced_status_[channel]};
    }
    sample.raw_counts[channel] = reading.counts;
    sample.statuses[channel] = reading.status;
    if (channel == kSupply && measured < parameters_.supply_low_volt) {
      sample.flags |= analysis::base::kFlagSupplyLow;
    }
  }
  return sample;
}

}  // namespace firmware::sim::box
