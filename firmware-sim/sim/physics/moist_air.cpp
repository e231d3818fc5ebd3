#include "firmware-sim/sim/physics/moist_air.hpp"

#include <cmath>

namespace firmware::sim::physics {
namespace {

constexpr double kVapourGasConstant = 461.5;  // J/(kg K)

}  // namespace

using analysis::base::AbsoluteHumidity;
using analysis::base::Celsius;
using analysis::base::Pascal;
using analysis::base::RelativeHumidity;

Pascal saturation_pressure(Celsius t) {
  const double c = t.value();
  return Pascal{611.21 * std::exp((18.678 - c / 234.5) * (c / (257.14 + c)))};
}

AbsoluteHumidity vapour_density(Celsius t, RelativeHumidity rh) {
  return AbsoluteHumidity{rh.value() * saturation_pressure(t).value() /
                          (kVapourGasConstant * kelvin_from_celsius(t))};
}

RelativeHumidity rh_of(AbsoluteHumidity vapour, Celsius t) {
  return RelativeHumidity{vapour.value() / vapour_density(t, RelativeHumidity{1.0}).value()};
}

Celsius dew_point(AbsoluteHumidity vapour, Celsius t) {
  const double pressure = vapour.value() * kVapourGasConstant * kelvin_from_celsius(t);
  double low = -60.0;
  double high = 60.0;
  while (high - low > 1e-7) {
    const double middle = 0.5 * (low + high);
    (saturation_pressure(Celsius{middle}).value() < pressure ? low : high) = middle;
  }
  return Celsius{0.5 * (low + high)};
}

}  // namespace firmware::sim::physics
