// Cartons warming in the room: heat conduction through the thickness and across the width of the
// stack, a film on all four sides. By symmetry only one quarter of the section is solved; along the
// stack the temperature is taken as even (docs/site-truth.md says what that costs). The cartons are
// closed: no water passes their walls. One thread.
#pragma once

#include <cstddef>
#include <vector>

#include "analysis/base/units.hpp"
#include "firmware-sim/sim/physics/chain_step.hpp"

namespace firmware::sim::site {

// Every figure our assumption.
struct StackParameters {
  double half_thickness_m = 0.11;
  double half_width_m = 0.575;
  double length_m = 1.3;
  double conductivity_w_per_mk = 0.15;        // through the boards
  double conductivity_along_w_per_mk = 0.30;  // along them
  double heat_capacity_j_per_m3k = 1.74e6;
  double film_w_per_m2k = 6.5;
  double delivery_celsius = 4.0;
  std::size_t thickness_cells = 24;  // of the half
  std::size_t width_cells = 8;       // of the half
};

class StackTruth {
 public:
  explicit StackTruth(const StackParameters& parameters);

  // Every carton at `t`.
  void deliver(analysis::base::Celsius t);
  // Backward Euler, one direction after the other. Returns the heat taken up, J for the whole
  // stack. REQUIRES: step_s > 0.
  double advance(double step_s, analysis::base::Celsius air);
  // The middle of the stack.
  [[nodiscard]] analysis::base::Celsius core() const;
  [[nodiscard]] double stored_heat_j() const;  // above 0 deg C

 private:
  // Conductances of one direction within a step, J/K for a cell of 1 m2 of section.
  struct Direction {
    std::vector<double> link;  // between neighbours
    double face = 0.0;         // from the outermost cell to the air
  };
  [[nodiscard]] Direction direction(double step_s, double cell_m, std::size_t cells,
                                    double conductivity_w_per_mk) const;
  double advance_through(double step_s, double air);
  double advance_across(double step_s, double air);
  [[nodiscard]] double thickness_cell_m() const;
  [[nodiscard]] double width_cell_m() const;

  StackParameters parameters_;
  physics::ChainStep chain_;
  // [width][thickness], cell centres, each from the outside to the middle.
  std::vector<std::vector<double>> celsius_;
};

}  // namespace firmware::sim::site
