// Weights of the cubic through four points (Lagrange). Pure.
#pragma once

#include <array>
#include <cstddef>

namespace analysis::physics {

// REQUIRES: `points` differ. The value at `x` is the sum of weight times value at each point.
constexpr std::array<double, 4> cubic_weights(const std::array<double, 4>& points, double x) {
  std::array<double, 4> weights{1.0, 1.0, 1.0, 1.0};
  for (std::size_t i = 0; i < points.size(); ++i) {
    for (std::size_t j = 0; j < points.size(); ++j) {
      if (i != j) {
        weights[i] *= (x - points[j]) / (points[i] - points[j]);
      }
    }
  }
  return weights;
}

}  // namespace analysis::physics
