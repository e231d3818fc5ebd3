// Moisture content of fibreboard in air of a steady RH, as a share of that of wood: a rough range
// for information, since no measured curve of a given board was available. Movement is therefore
// computed from RH directly (panel/movement.hpp), never from these numbers. Pure functions.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/base/units.hpp"
#include "analysis/physics/domain_error.hpp"

namespace analysis::physics {

// Board moisture over wood moisture in the same air, no unit. Our assumption: 0.45 comes from the
// slope of one industry page (5 points of moisture content for 35 to 85 %RH, where wood gains 11),
// 0.80 from panel practice (from memory). Beside the bands printed by the Australasian wood panels
// association ("Facts about Particleboard and MDF", p. 37) the range fits at 65 to 90 %RH and is
// too low in dry air: at 30 %RH it ends at 5.0 % where they print 6 to 8 %
// (docs/physics-and-sources.md).
struct BoardShareOfWood {
  double low_share = 0.45;
  double expected_share = 0.80;
  double high_share = 0.80;
};

struct MoistureContentRange {
  base::MoistureContent low;
  base::MoistureContent expected;
  base::MoistureContent high;
};

// Domain of wood_emc_from_rh. Shares must rise from low over expected to high within (0, 1.5]:
// material_out_of_domain otherwise.
[[nodiscard]] base::Result<MoistureContentRange, DomainError> board_emc_from_rh(
    base::Celsius air, base::RelativeHumidity rh, const BoardShareOfWood& shares = {});

}  // namespace analysis::physics
