#include "firmware-sim/sim/site/stack_truth.hpp"

#include <algorithm>

#include "firmware-sim/sim/physics/chain_step.hpp"

namespace firmware::sim::site {

using analysis::base::Celsius;

StackTruth::StackTruth(const StackParameters& parameters)
    : parameters_(parameters), celsius_(parameters.cells, parameters.delivery_celsius) {}

void StackTruth::deliver(Celsius t) { std::fill(celsius_.begin(), celsius_.end(), t.value()); }

double StackTruth::advance(double step_s, Celsius air) {
  const double cell_m = parameters_.half_thickness_m / static_cast<double>(celsius_.size());
  const double link = step_s * parameters_.conductivity_w_per_mk / cell_m;
  const double face = step_s / (0.5 * cell_m / parameters_.conductivity_w_per_mk +
                                1.0 / parameters_.film_w_per_m2k);
  celsius_ = physics::chain_step(celsius_, parameters_.heat_capacity_j_per_m3k * cell_m,
                                 std::vector<double>(celsius_.size() - 1, link), face, air.value());
  return face * (air.value() - celsius_.front()) * parameters_.face_m2;
}

// The temperature is even about the middle: a parabola through the last two cells, which lie half a
// cell and one and a half from it.
Celsius StackTruth::core() const {
  return Celsius{(9.0 * celsius_[celsius_.size() - 1] - celsius_[celsius_.size() - 2]) / 8.0};
}

double StackTruth::stored_heat_j() const {
  double sum = 0.0;
  for (const double t : celsius_) {
    sum += t;
  }
  return sum / static_cast<double>(celsius_.size()) * parameters_.heat_capacity_j_per_m3k *
         parameters_.half_thickness_m * parameters_.face_m2;
}

}  // namespace firmware::sim::site
