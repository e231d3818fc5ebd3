#include "analysis/readiness/outlook/core_time.hpp"

#include <algorithm>
#include <array>

namespace analysis::readiness::outlook {

room::TimeOrReason core_time_from(const CoreKnown& core, UtcMicros now) {
  if (core.gate == GateState::met) {
    return room::ExpectedTime{now, now, now};
  }
  if (core.air && core.lowest && *core.air < *core.lowest) {
    return base::Failure{room::NoTime::room_too_cold};
  }
  if (!core.to_warm || !core.air_until) {
    return base::Failure{room::NoTime::not_modelled};
  }
  const auto& [fast, mid, slow] = *core.to_warm;
  if (!fast || !mid || !slow) {
    return base::Failure{room::NoTime::too_far_off};
  }
  // The material called slow warms last, but where a stack is nearly warm the order may differ.
  std::array<UtcMicros, 3> times{*core.air_until + *fast, *core.air_until + *mid,
                                 *core.air_until + *slow};
  std::sort(times.begin(), times.end());
  if (core.gate == GateState::not_met && times[1] <= now) {
    return base::Failure{room::NoTime::core_disagrees};
  }
  return room::ExpectedTime{std::max(times[0], now), std::max(times[1], now),
                            std::max(times[2], now)};
}

}  // namespace analysis::readiness::outlook
