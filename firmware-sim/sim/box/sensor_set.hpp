// The sensors of one simulated box: true values in, counts and statuses of the register map out,
// with bias, noise and quantisation. The same seed gives the same counts. One thread.
#pragma once

#include <array>
#include <cstdint>
#include <optional>

#include "analysis/base/time.hpp"
#include "firmware-sim/core/probe_box.hpp"
#include "firmware-sim/sim/physics/noise.hpp"
#include "firmware-sim/sim/site/site_truth.hpp"

namespace firmware::sim::box {

// Channel 0 room air temperature, 1 room air RH, 2 stack core temperature, 3 slab surface
// temperature, 4 slab RH, 5 supply voltage.
inline constexpr std::size_t kFittedChannels = 6;

// In the unit of the channel's counts times 0.01 (deg C, %RH) or in V for the supply.
struct SensorSpec {
  double bias_sd = 0.0;   // each box draws its own constant bias from N(0, bias_sd)
  double noise_sd = 0.0;  // of each sample, independent
  double low = 0.0;       // what it can measure; outside, the status is out_of_range
  double high = 0.0;
};

struct SensorParameters {
  std::array<SensorSpec, kFittedChannels> channels{
      SensorSpec{0.15, 0.03, -40.0, 85.0}, SensorSpec{0.8, 0.15, 0.0, 100.0},
      SensorSpec{0.15, 0.03, -40.0, 85.0}, SensorSpec{0.15, 0.03, -40.0, 85.0},
      SensorSpec{0.1, 0.15, 0.0, 100.0},   SensorSpec{0.02, 0.004, 0.0, 30.0}};
  double supply_start_volt = 12.6;
  double supply_fall_volt_per_day = 0.02;
  double supply_low_volt = 11.0;  // below, the supply flag of the record is set
};

class SensorSet {
 public:
  SensorSet(const SensorParameters& parameters, std::uint64_t seed);

  // One sample of all channels. `powered_for`: since the site began, for the supply.
  [[nodiscard]] core::Sample measure(const site::SiteState& truth,
                                     analysis::base::Micros powered_for);
  // From now on the channel reports `status` (4 bits); 0 makes it healthy again.
  void set_status(std::size_t channel, std::uint8_t status);

 private:
  SensorParameters parameters_;
  physics::Noise noise_;
  std::array<double, kFittedChannels> bias_{};
  std::array<std::uint8_t, kFittedChannels> forced_status_{};
};

}  // namespace firmware::sim::box
