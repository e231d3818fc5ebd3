// How hours of a dwell are rounded wherever people read them.
#pragma once

#include <algorithm>
#include <cmath>

namespace analysis::base {

// Lets a value that is a tenth but for double rounding pass as that tenth.
inline constexpr double kRoundingTenths = 1e-8;

// To tenths, down and up: done and left never look complete when they are not. `left` is never
// below 0.
[[nodiscard]] inline double shown_hours_done(double hours) {
  return std::floor(hours * 10.0 + kRoundingTenths) / 10.0;
}
[[nodiscard]] inline double shown_hours_left(double hours) {
  return std::max(0.0, std::ceil(hours * 10.0 - kRoundingTenths) / 10.0);
}

}  // namespace analysis::base
