#include "firmware-sim/target/sensors/supply_monitor.hpp"

#include <limits>

namespace firmware::target {

Reading SupplyMonitor::measure() {
  const std::uint32_t count = input_.convert();
  const std::uint32_t full = scale_.full_count;
  const std::uint32_t supply_mv = (count * scale_.full_scale_mv + full / 2) / full;
  if (count >= full || supply_mv > std::numeric_limits<std::int16_t>::max()) {
    return {0, ReadingStatus::out_of_range};
  }
  low_ = supply_mv < scale_.low_below_mv || (low_ && supply_mv < scale_.good_from_mv);
  return {static_cast<std::int16_t>(supply_mv), ReadingStatus::ok};
}

}  // namespace firmware::target
