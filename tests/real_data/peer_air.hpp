// Moist air worked out a second time, from other formulas than the program's. Header of the tests.
#pragma once

#include <cmath>

namespace real_data {

// Murphy and Koop 2005, eq. 10, supercooled water, 123..332 K, and eq. 7, ice. From memory.
inline double peer_water_pa(double celsius) {
  const double t = celsius + 273.15;
  return std::exp(54.842763 - 6763.22 / t - 4.210 * std::log(t) + 0.000367 * t +
                  std::tanh(0.0415 * (t - 218.8)) *
                      (53.878 - 1331.22 / t - 9.44523 * std::log(t) + 0.014025 * t));
}
inline double peer_ice_pa(double celsius) {
  const double t = celsius + 273.15;
  return std::exp(9.550426 - 5723.265 / t + 3.53068 * std::log(t) - 0.00728332 * t);
}
inline double peer_vapour_pa(double celsius, double percent_rh) {
  return percent_rh / 100.0 * peer_water_pa(celsius);
}
inline double peer_humidity_ratio(double vapour_pa, double air_pa) {
  return 0.621945 * vapour_pa / (air_pa - vapour_pa);
}

// What is left over of the energy balance of air that is saturated adiabatically at `wet_celsius`,
// in kJ per kg of dry air: h + (w_s - w) h_w - h_s. About 1 kJ/kg per K of dry bulb.
inline double peer_wet_bulb_residual(double celsius, double percent_rh, double wet_celsius,
                                     double air_pa) {
  const auto enthalpy = [](double t, double w) { return 1.006 * t + w * (2501.0 + 1.86 * t); };
  const bool frozen = wet_celsius < 0.0;
  const double saturated =
      peer_humidity_ratio(frozen ? peer_ice_pa(wet_celsius) : peer_water_pa(wet_celsius), air_pa);
  const double ratio = peer_humidity_ratio(peer_vapour_pa(celsius, percent_rh), air_pa);
  const double wick = frozen ? -333.4 + 2.1 * wet_celsius : 4.186 * wet_celsius;
  return enthalpy(celsius, ratio) + (saturated - ratio) * wick - enthalpy(wet_celsius, saturated);
}

}  // namespace real_data
