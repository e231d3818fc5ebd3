#include "firmware-sim/sim/physics/noise.hpp"

#include <cmath>
#include <numbers>

namespace firmware::sim::physics {

double Noise::uniform() {
  constexpr double kScale = 1.0 / 9007199254740992.0;  // 2^-53: all that a double holds
  return (static_cast<double>(engine_() >> 11U) + 0.5) * kScale;
}

// Box-Muller, one of the pair only: the next draw must not depend on who asked for the last one.
double Noise::gaussian() {
  const double radius = std::sqrt(-2.0 * std::log(uniform()));
  return radius * std::cos(2.0 * std::numbers::pi * uniform());
}

double WanderingNoise::advance(double step_s, Noise& noise) {
  const double kept = std::exp(-step_s / memory_s_);
  value_ = value_ * kept + standard_deviation_ * std::sqrt(1.0 - kept * kept) * noise.gaussian();
  return value_;
}

}  // namespace firmware::sim::physics
