// Prints our moist air on a grid for psychrolib_compare.js. One line per air:
// dry_bulb_celsius,rh_fraction,air_pa,vapour_pa,dew_or_frost_celsius,ratio,wet_bulb_celsius
// The point is over ice where the peer's is: below 0.01 deg C. Air whose wet bulb is close to
// 0 deg C is left out, for there a wet and a frozen wick both answer and the peer picks either.
#include <cmath>
#include <cstdio>

#include "analysis/physics/psychrometrics.hpp"

using namespace analysis::physics;

namespace {

constexpr double kPeerFreezingCelsius = 0.01;
constexpr double kUnclearWetBulbKelvin = 1.5;

// True when a line was printed.
bool print_air(Celsius dry_bulb, RelativeHumidity rh, Pascal air) {
  const Pascal vapour = vapour_pressure_from_rh(dry_bulb, rh).value();
  const auto dew = dew_point_from_vapour_pressure(vapour);
  const auto frost = frost_point_from_vapour_pressure(vapour);
  const auto point = frost && frost.value().value() < kPeerFreezingCelsius ? frost : dew;
  const auto ratio = humidity_ratio_from_vapour_pressure(vapour, air);
  const auto wet_bulb = wet_bulb_from_rh(dry_bulb, rh, air);
  if (!wet_bulb || std::abs(wet_bulb.value().value()) < kUnclearWetBulbKelvin) {
    return false;
  }
  std::printf("%.17g,%.17g,%.17g,%.17g,%.17g,%.17g,%.17g\n", dry_bulb.value(), rh.value(),
              air.value(), vapour.value(), point.value().value(), ratio.value().value(),
              wet_bulb.value().value());
  return true;
}

}  // namespace

int main() {
  int lines = 0;
  for (const double air_pa : {101'325.0, 95'461.0, 80'000.0}) {
    for (double t = -20.0; t <= 60.0; t += 2.5) {
      for (double percent = 5.0; percent <= 100.0; percent += 5.0) {
        lines +=
            print_air(Celsius{t}, analysis::base::rh_from_percent(percent), Pascal{air_pa}) ? 1 : 0;
      }
    }
  }
  return lines > 1000 ? 0 : 1;
}
