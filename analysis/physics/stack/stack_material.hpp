// What a stack of flooring cartons is for heat conduction: its outer size, what it stands on, and
// its material taken as one uniform body. Pure values, no state.
#pragma once

#include <cstdint>

#include "analysis/base/result.hpp"
#include "analysis/base/units.hpp"
#include "analysis/physics/domain_error.hpp"

namespace analysis::physics {

using base::Celsius;
using base::Metres;

// How the underside of the stack meets the room. Values are permanent (stored).
enum class StackBottom : std::uint8_t {
  on_floor = 1,    // no heat passes: on underlay or on a floor as cold as the stack
  on_battens = 2,  // room air below, with the same film as the other faces
};

// No stack and no room is followed outside these, deg C.
inline constexpr Celsius kColdestStack{-60.0};
inline constexpr Celsius kWarmestStack{80.0};
[[nodiscard]] constexpr bool is_followed(Celsius temperature) {
  return temperature >= kColdestStack && temperature <= kWarmestStack;
}

// Outer size of one stack, each 0.05..3 m. Cartons lie flat: the height is across the boards.
struct StackGeometry {
  Metres length;
  Metres width;
  Metres height;
  StackBottom bottom = StackBottom::on_floor;
  bool operator==(const StackGeometry&) const = default;
};

struct StackMaterial {
  double conductivity_in_plane_w_per_m_k = 0.0;
  double conductivity_across_w_per_m_k = 0.0;  // through the boards, cardboard and gaps included
  double density_kg_per_m3 = 0.0;
  double heat_capacity_j_per_kg_k = 0.0;
  double film_w_per_m2_k = 0.0;  // convection and radiation together, on every exposed face
  bool operator==(const StackMaterial&) const = default;
};

// Stacks of high-density fibreboard flooring in cartons in still room air. The conductivities lie
// about those of EN 12524:2000 / ISO 10456 for fibreboard (0.14 at 600, 0.18 W/mK at 800 kg/m3;
// 1700 J/kgK) and of an industry data sheet for MDF (0.12 to 0.15 W/mK); across the boards they are
// lower for the cardboard and the gaps [asm]. The films span natural convection with radiation, 5
// to 8 W/m2K (from memory; ISO 6946 resistances give 5.9 to 10). The fast and the slow set put
// every property at the end that warms the stack sooner or later: our assumption of the range, not
// a statistical one.
inline constexpr StackMaterial kFastStack{0.18, 0.15, 850.0, 1700.0, 8.0};
inline constexpr StackMaterial kMidStack{0.15, 0.13, 870.0, 2000.0, 6.5};
inline constexpr StackMaterial kSlowStack{0.12, 0.11, 900.0, 2300.0, 5.0};

// Each property the geometric mean of the two.
[[nodiscard]] StackMaterial material_between(const StackMaterial& a, const StackMaterial& b);

// length_out_of_domain outside the limits above; material_out_of_domain unless every property is
// finite and within a factor of 20 of kMidStack's.
[[nodiscard]] base::Result<void, DomainError> check_stack(const StackGeometry& geometry,
                                                          const StackMaterial& material);

// Depth from the plane that no heat crosses to the exposed face: half the height on battens, the
// whole height on the floor.
[[nodiscard]] constexpr Metres heated_depth_across(const StackGeometry& geometry) {
  return geometry.bottom == StackBottom::on_floor ? geometry.height
                                                  : Metres{0.5 * geometry.height.value()};
}

}  // namespace analysis::physics
