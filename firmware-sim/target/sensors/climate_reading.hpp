// What one climate sensor gives: two channels at once.
#pragma once

#include "firmware-sim/target/sensors/front_end.hpp"

namespace firmware::target {

struct ClimateReading {
  Reading temperature;  // counts: 0.01 deg C
  Reading humidity;     // counts: 0.01 %RH
  bool operator==(const ClimateReading&) const = default;
};

[[nodiscard]] constexpr ClimateReading climate_without_counts(ReadingStatus status) {
  return {{0, status}, {0, status}};
}

}  // namespace firmware::target
