// One implicit step of the vapour of a room that exchanges water with what is around it. No state.
#pragma once

#include <array>
#include <cstddef>

namespace firmware::sim::physics {

// Air that comes and goes at `flow` with the vapour density of its other side: outdoors, a wet
// surface, a coil, a store.
struct VapourExchange {
  double flow_m3_per_s = 0.0;
  double kg_per_m3 = 0.0;
  double most_given_kg = 0.0;  // what the other side has to give within the step
};

template <std::size_t N>
struct VapourStepResult {
  double kg_per_m3 = 0.0;
  std::array<double, N> taken_kg{};  // by each other side; negative = given
};

// V/step (x' - x) = sum of flow (density - x') + sources. A side that would give more than it has
// gives just that. The sum of what is taken closes with the change of the air to rounding.
// REQUIRES: volume and step above 0.
template <std::size_t N>
VapourStepResult<N> vapour_step(double kg_per_m3, double volume_m3, double step_s,
                                double sources_kg_per_s,
                                const std::array<VapourExchange, N>& exchanges) {
  std::array<bool, N> spent{};
  VapourStepResult<N> result;
  bool again = true;
  while (again) {  // each turn but the last spends one side or more
    again = false;
    double right = volume_m3 / step_s * kg_per_m3 + sources_kg_per_s;
    double left = volume_m3 / step_s;
    for (std::size_t i = 0; i < N; ++i) {
      right += spent[i] ? exchanges[i].most_given_kg / step_s
                        : exchanges[i].flow_m3_per_s * exchanges[i].kg_per_m3;
      left += spent[i] ? 0.0 : exchanges[i].flow_m3_per_s;
    }
    result.kg_per_m3 = right / left;
    for (std::size_t i = 0; i < N; ++i) {
      const VapourExchange& side = exchanges[i];
      result.taken_kg[i] = spent[i]
                               ? -side.most_given_kg
                               : side.flow_m3_per_s * (result.kg_per_m3 - side.kg_per_m3) * step_s;
      if (result.taken_kg[i] < -side.most_given_kg) {
        spent[i] = true;
        again = true;
      }
    }
  }
  return result;
}

}  // namespace firmware::sim::physics
