#include "firmware-sim/sim/box/sensor_set.hpp"

#include <cmath>
#include <limits>
#include <utility>

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
  conditions_.at(channel).status = status;
}

void SensorSet::hold(std::size_t channel, double value) { conditions_.at(channel).held = value; }

void SensorSet::freeze(std::size_t channel) { conditions_.at(channel).frozen = true; }

void SensorSet::free(std::size_t channel) {
  Condition& condition = conditions_.at(channel);
  condition.status = wire(ChannelStatus::ok);
  condition.held.reset();
  condition.frozen = false;
}

void SensorSet::spike(std::size_t channel, double by) { conditions_.at(channel).spike = by; }

void SensorSet::set_flag(std::uint16_t bit, bool on) {
  flags_ = static_cast<std::uint16_t>(on ? flags_ | bit : flags_ & ~bit);
}

std::array<double, kFittedChannels> SensorSet::values_of(const site::SiteState& truth,
                                                         analysis::base::Micros powered_for) const {
  const double days = analysis::base::hours_from(powered_for) / 24.0;
  const double aged = parameters_.supply_start_volt - parameters_.supply_fall_volt_per_day * days;
  return {truth.air_temperature.value(),  percent_from_rh(truth.air_rh),
          truth.core_temperature.value(), truth.slab_surface_temperature.value(),
          percent_from_rh(truth.slab_rh), supply_volt_.value_or(aged)};
}

core::Sample SensorSet::measure(const site::SiteState& truth, analysis::base::Micros powered_for) {
  const std::array<double, kFittedChannels> values = values_of(truth, powered_for);
  core::Sample sample;
  sample.flags = flags_;
  sample.statuses.fill(wire(ChannelStatus::not_fitted));
  for (std::size_t channel = 0; channel < kFittedChannels; ++channel) {
    const SensorSpec& spec = parameters_.channels[channel];
    Condition& condition = conditions_[channel];
    // Noise is drawn whatever the condition, so that a fault on one channel leaves the others as
    // they would have been.
    double measured = values[channel] + bias_[channel] + spec.noise_sd * noise_.gaussian();
    measured = condition.held.value_or(measured + std::exchange(condition.spike, 0.0));
    Reading reading = reading_of(measured, channel == kSupply ? kMillivolts : kHundredths, spec);
    if (condition.frozen && condition.last_counts) {
      reading.counts = *condition.last_counts;
    }
    condition.last_counts = reading.counts;
    if (condition.status != wire(ChannelStatus::ok)) {
      reading = {0, condition.status};
    }
    sample.raw_counts[channel] = reading.counts;
    sample.statuses[channel] = reading.status;
    if (channel == kSupply) {
      supply_is_low_ =
          measured < (supply_is_low_ ? parameters_.supply_good_volt : parameters_.supply_low_volt);
    }
  }
  if (supply_is_low_) {
    sample.flags |= analysis::base::kFlagSupplyLow;
  }
  return sample;
}

}  // namespace firmware::sim::box
