// One probe box of the site: the firmware core over its own memory, sensors and tick counter.
// Knows simulated UTC only to derive its ticks; the firmware never sees it. One thread.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/base/time.hpp"
#include "firmware-sim/core/probe_box.hpp"
#include "firmware-sim/sim/box/flash_memory.hpp"
#include "firmware-sim/sim/box/sensor_set.hpp"

namespace firmware::sim::box {

struct BoxSetup {
  std::uint8_t unit = 1;                 // Modbus address, 1..247
  std::uint64_t serial = 1001;           // not 0
  std::uint16_t sample_interval_s = 60;  // 1..3600
  double drift_ppm = 0.0;                // positive = the box's clock runs fast
  analysis::base::Micros power_on_after_start{0};
  std::string memory_file;  // empty = RAM only
  std::size_t memory_bytes = 1024 * 1024;
};

// What the box stored, with the true time beside it.
struct TakenSample {
  core::RecordKey id;
  std::uint64_t ticks_ms = 0;
  analysis::base::UtcMicros at;
  core::Sample sample;
};

class SimulatedBox {
 public:
  // The error is one line about the memory file.
  [[nodiscard]] static analysis::base::Result<std::unique_ptr<SimulatedBox>, std::string> create(
      const BoxSetup& setup, const SensorParameters& sensors, std::uint64_t seed);
  ~SimulatedBox();

  // A new boot at `at`: ticks start at 0, the boot id goes up.
  core::Status boot(analysis::base::UtcMicros at);
  [[nodiscard]] bool running() const { return firmware_ != nullptr; }
  // Without power it takes no samples and answers nothing; its memory stays.
  void power_off() { firmware_.reset(); }
  // The box's clock runs at `ppm` from `at` on, positive = fast. REQUIRES: running.
  void set_drift(double ppm, analysis::base::UtcMicros at);
  // Its clock jumps, positive = forward, and never below 0; it goes on sampling at its interval.
  // REQUIRES: running.
  void step_clock(analysis::base::Micros by, analysis::base::UtcMicros at);

  // Ticks at `at`, ms since the boot as this box counts them. REQUIRES: running, at >= boot time.
  [[nodiscard]] std::uint64_t ticks_at(analysis::base::UtcMicros at) const;
  // When the next sample is due by the box's own clock: 2 s after a boot, then every sample
  // interval. REQUIRES: running.
  [[nodiscard]] analysis::base::UtcMicros next_sample_at() const;
  core::Status take_sample(const site::SiteState& truth, analysis::base::UtcMicros at);
  // Feeds one whole request frame; the reply (empty = none, not for this unit).
  [[nodiscard]] std::vector<std::uint8_t> answer(std::span<const std::uint8_t> frame,
                                                 analysis::base::UtcMicros at);

  [[nodiscard]] const BoxSetup& setup() const { return setup_; }
  [[nodiscard]] core::ProbeBox& firmware() { return *firmware_; }  // REQUIRES: running
  [[nodiscard]] SensorSet& sensors() { return sensors_; }
  [[nodiscard]] FlashMemory& memory() { return *memory_; }
  // Every sample that was stored, in the order taken.
  [[nodiscard]] const std::vector<TakenSample>& taken() const { return taken_; }

 private:
  SimulatedBox(const BoxSetup& setup, const SensorParameters& sensors, std::uint64_t seed,
               std::unique_ptr<FlashMemory> memory);

  BoxSetup setup_;
  SensorSet sensors_;
  std::unique_ptr<FlashMemory> memory_;
  std::unique_ptr<core::ProbeBox> firmware_;
  // The box's clock: it showed clock_us_ at clock_set_at_ and runs at drift_ppm_ since.
  analysis::base::UtcMicros clock_set_at_;
  double clock_us_ = 0.0;
  double drift_ppm_;
  std::vector<TakenSample> taken_;
  std::optional<analysis::base::UtcMicros> powered_at_;
  std::uint64_t next_sample_ticks_ms_ = 0;
};

}  // namespace firmware::sim::box
