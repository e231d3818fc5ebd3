// RH over saturated salt solutions: fixed points for checking humidity sensors. Pure functions, no
// state. They hold for pure salt, with solid salt present, in a closed vessel of one temperature;
// nothing here can see whether that was so.
#pragma once

#include <cstdint>

#include "analysis/base/result.hpp"
#include "analysis/base/units.hpp"
#include "analysis/physics/domain_error.hpp"

namespace analysis::physics {

enum class Salt : std::uint8_t {
  lithium_chloride,
  magnesium_chloride,
  magnesium_nitrate,
  sodium_chloride,
  potassium_chloride,
  potassium_sulfate,
};

struct SaltPoint {
  base::RelativeHumidity rh;
  // Half-width with coverage factor 2: the larger of the two neighbours in the published table.
  // Values of 15..30 deg C seen in OIML R 121:1996, Table 1; the others, and all of magnesium
  // nitrate, from memory of Greenspan 1977, rounded up. Lithium chloride carries 1 %RH below 25 deg
  // C, where R 121 itself distrusts it.
  base::RelativeHumidity expanded_uncertainty;
};

// 5..50 deg C. Source: Greenspan 1977, J. Res. NBS 81A:89, polynomials of up to third degree in deg
// C, coefficients seen in public code only. Within 0.15 %RH of R 121 at 15..30 deg C (lithium
// chloride 25..30) and within its uncertainty there (tests/physics/salt_humidity_test.cpp). The
// linear coefficient of lithium chloride is positive; copies with a minus miss the table by 0.4.
[[nodiscard]] base::Result<SaltPoint, DomainError> salt_point_at(Salt salt, base::Celsius solution);

// Exact derivative of the RH of salt_point_at by temperature, with its domain. Differences of
// temperature between salt and sensor count far more: 0.7 to 6 %RH per K near 20 deg C, see
// rh_slope_at_constant_vapour in psychrometrics.hpp.
[[nodiscard]] base::Result<base::RelativeHumidityPerKelvin, DomainError> salt_rh_slope(
    Salt salt, base::Celsius solution);

}  // namespace analysis::physics
