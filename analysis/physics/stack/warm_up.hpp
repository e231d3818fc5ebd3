// How long a stack takes: until its last point is near a steady room, and its slowest time
// constant. Pure functions, no state.
#pragma once

#include <optional>

#include "analysis/physics/stack/stack_heat.hpp"

namespace analysis::physics {

using base::KelvinDelta;

// From the field as it is, in air that stays at `air`, until the last point to follow the room
// first comes within `limit` of it; zero when it is already. Found to a few seconds by linear
// interpolation within a step of kLongestStackSubstep. nullopt when not within `horizon`. The field
// given is copied and not changed. REQUIRES: finite air. Cost: one substep per 15 min.
[[nodiscard]] std::optional<Micros> time_until_within(StackField field, Celsius air,
                                                      KelvinDelta limit, Micros horizon);

// In a steady room any difference dies away at last as exp(-t / this). The first root of
// beta tan beta = h L / k along each axis gives 1/tau = sum of k / (rho cp) (beta / L)^2.
// Source: plane-wall series as in Incropera et al., ch. 5 (from memory), product solution for the
// brick. Errors of check_stack.
[[nodiscard]] base::Result<Micros, DomainError> slowest_time_constant(
    const StackGeometry& geometry, const StackMaterial& material);

}  // namespace analysis::physics
