// Cartons warming in the room: heat conduction through the thickness of the stack, a film on both
// faces. By symmetry only one half is solved. One thread.
#pragma once

#include <cstddef>
#include <vector>

#include "analysis/base/units.hpp"

namespace firmware::sim::site {

struct StackParameters {
  double half_thickness_m = 0.11;
  double conductivity_w_per_mk = 0.15;
  double heat_capacity_j_per_m3k = 1.74e6;
  double film_w_per_m2k = 6.5;
  double face_m2 = 3.0;  // both faces together
  double delivery_celsius = 4.0;
  std::size_t cells = 24;  // of the half
};

class StackTruth {
 public:
  explicit StackTruth(const StackParameters& parameters);

  // Every carton at `t`.
  void deliver(analysis::base::Celsius t);
  // Backward Euler. Returns the heat taken up, J for the whole stack. REQUIRES: step_s > 0.
  double advance(double step_s, analysis::base::Celsius air);
  // The middle of the stack.
  [[nodiscard]] analysis::base::Celsius core() const;
  [[nodiscard]] double stored_heat_j() const;  // above 0 deg C

 private:
  StackParameters parameters_;
  std::vector<double> celsius_;  // cell centres, from the face to the middle
};

}  // namespace firmware::sim::site
