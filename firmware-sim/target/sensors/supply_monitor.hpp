// The supply voltage through a converter: counts to millivolts, and a low flag with hysteresis.
#pragma once

#include <cstdint>

#include "firmware-sim/target/sensors/byte_ports.hpp"
#include "firmware-sim/target/sensors/front_end.hpp"

namespace firmware::target {

// REQUIRES: full_count above 0; low_below_mv <= good_from_mv.
struct SupplyScale {
  std::uint16_t full_count = 0;     // largest count of the converter
  std::uint16_t full_scale_mv = 0;  // at the supply, divider included, for that count
  std::uint16_t low_below_mv = 0;
  std::uint16_t good_from_mv = 0;
};

class SupplyMonitor {
 public:
  // `input` outlives the monitor.
  SupplyMonitor(AnalogInput& input, const SupplyScale& scale) : input_(input), scale_(scale) {}

  // Counts: mV, to the nearest. out_of_range at the end of the converter's scale and where the wire
  // can't carry it.
  Reading measure();
  // As of the last reading that was ok: below low_below_mv it becomes true and stays so until
  // good_from_mv is reached. False before.
  [[nodiscard]] bool is_low() const { return low_; }

 private:
  AnalogInput& input_;
  SupplyScale scale_;
  bool low_ = false;
};

}  // namespace firmware::target
