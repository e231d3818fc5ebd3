// The sensors of one simulated box: true values in, counts and statuses of the register map out,
// with bias, noise and quantisation. The same seed gives the same counts. One thread.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>

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
      SensorSpec{0.1, 0.15, 0.0, 100.0},   SensorSpec{0.01, 0.002, 0.0, 6.0}};
  // One lithium cell, nearly full, that feeds the box for about two months; our assumption, as the
  // limits are: the supply flag of a record is set below the low one and stays until the good one.
  double supply_start_volt = 4.1;
  double supply_fall_volt_per_day = 0.015;
  double supply_low_volt = 3.30;
  double supply_good_volt = 3.40;
};

class SensorSet {
 public:
  SensorSet(const SensorParameters& parameters, std::uint64_t seed);

  // One sample of all channels. `powered_for`: since the site began, for the supply.
  [[nodiscard]] core::Sample measure(const site::SiteState& truth,
                                     analysis::base::Micros powered_for);
  // From now on the channel reports `status` (4 bits); 0 makes it healthy again.
  void set_status(std::size_t channel, std::uint8_t status);
  // From now on it shows `value` (deg C, %RH or V) whatever is true, without bias and noise.
  void hold(std::size_t channel, double value);
  // From now on it repeats the counts of its last sample.
  void freeze(std::size_t channel);
  // Ends set_status, hold and freeze.
  void free(std::size_t channel);
  // The next sample alone is off by `by` (deg C, %RH or V).
  void spike(std::size_t channel, double by);
  // From now on the true supply is `volt`; nullopt = as it would be by its age.
  void set_supply(std::optional<double> volt) { supply_volt_ = volt; }
  // Sets or clears a flag bit of the following samples (lid, tilt).
  void set_flag(std::uint16_t bit, bool on);

 private:
  struct Condition {
    std::uint8_t status = 0;
    std::optional<double> held;
    bool frozen = false;
    double spike = 0.0;
    std::optional<std::int16_t> last_counts;
  };

  [[nodiscard]] std::array<double, kFittedChannels> values_of(
      const site::SiteState& truth, analysis::base::Micros powered_for) const;

  SensorParameters parameters_;
  physics::Noise noise_;
  std::array<double, kFittedChannels> bias_{};
  std::array<Condition, kFittedChannels> conditions_{};
  std::optional<double> supply_volt_;
  std::uint16_t flags_ = 0;
  bool supply_is_low_ = false;
};

// Names of the channels in scripts, in their order.
inline constexpr std::array<std::string_view, kFittedChannels> kChannelNames{
    "air-t", "air-rh", "core-t", "slab-t", "slab-rh", "supply"};

}  // namespace firmware::sim::box
