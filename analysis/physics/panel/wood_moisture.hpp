// Moisture content at which wood neither gains nor loses water in air of a steady RH, and back.
// Pure functions, no state. It says where wood would end up, not that it has got there; and the
// curve lies between that of drying and that of wetting wood, which differ by 1 to 2 points of
// moisture content (common practice).
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/base/units.hpp"
#include "analysis/physics/domain_error.hpp"

namespace analysis::physics {

using base::Celsius;
using base::MoistureContent;
using base::MoistureContentPerKelvin;
using base::MoistureContentPerRelativeHumidity;
using base::RelativeHumidity;

// The range of the handbook's own table, 30..270 deg F and 5..95 %RH. It is enforced: outside it
// the fit is not supported by anything we have seen, above 95 %RH least of all.
inline constexpr Celsius kColdestWood{-1.1};
inline constexpr Celsius kHottestWood{132.2};
inline constexpr RelativeHumidity kDriestWoodAir{0.05};
inline constexpr RelativeHumidity kDampestWoodAir{0.95};

// Source: Wood Handbook, FPL-GTR-282 (2021), ch. 4, eq. 4-5 (Hailwood and Horrobin 1946, two
// hydrates; the fit of Simpson 1973), coefficients for deg C. Agrees with the handbook's table 4-2,
// printed to 0.1 % of moisture content, within 0.06 % (tests/physics/wood_moisture_test.cpp); the
// handbook calls that digit without physical meaning.
[[nodiscard]] base::Result<MoistureContent, DomainError> wood_emc_from_rh(Celsius air,
                                                                          RelativeHumidity rh);

// Exact derivatives of wood_emc_from_rh, with its domain.
struct WoodEmcSlopes {
  MoistureContentPerRelativeHumidity by_rh;  // positive
  MoistureContentPerKelvin by_temperature;   // negative in a heated room
};
[[nodiscard]] base::Result<WoodEmcSlopes, DomainError> wood_emc_slopes_from_rh(Celsius air,
                                                                               RelativeHumidity rh);

// The RH at which wood would keep that moisture content; inverse of wood_emc_from_rh to 1e-10.
// moisture_content_out_of_domain where no RH in 5..95 % does.
[[nodiscard]] base::Result<RelativeHumidity, DomainError> rh_from_wood_emc(Celsius air,
                                                                           MoistureContent emc);

}  // namespace analysis::physics
