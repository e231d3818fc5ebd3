// Drying concrete slab as the simulator sees it: moisture diffusion in one direction, open to the
// room on top, sealed below. Its own law and constants; shares nothing with the analysis.
// One thread.
#pragma once

#include <cstddef>
#include <vector>

#include "analysis/base/units.hpp"
#include "firmware-sim/sim/physics/chain_step.hpp"

namespace firmware::sim::site {

// dw/dt = d/dx(K dh/dx), w = capacity * h, K = capacity * D(h, T), with
// D = d_ref * exp(steepness * (h - 0.8)) * exp(per_k * (T - 20 deg C)).
// The exponential form and every figure are invented.
struct SlabParameters {
  double thickness_m = 0.10;
  double probe_depth_m = 0.04;      // from the top
  double d_ref_m2_per_s = 1.65e-9;  // a mix that dries quicker than most
  double d_steepness = 2.5;
  double d_per_k = 0.03;
  double capacity_kg_per_m3 = 60.0;      // water for RH 0 to 1, slope taken as constant
  double surface_kg_per_m2s = 1.0e-5;    // surface to air, for RH 0 to 1
  double cast_rh_fraction = 0.97;        // uniform, before the drying that went before the start
  double start_rh_fraction = 0.775;      // at probe depth at the start
  double start_air_rh_fraction = 0.515;  // while it dried before the start
  std::size_t cells = 25;
};

class SlabTruth {
 public:
  // Uniform at cast_rh_fraction.
  explicit SlabTruth(const SlabParameters& parameters);

  // Dries at 20 deg C in the start air until the probe depth is at start_rh_fraction, some
  // thousand steps, or nothing changes any more because the start air is damper (check_site).
  void dry_until_start();

  // One implicit step. Returns the vapour given off, kg/m2 (negative = taken up).
  // REQUIRES: step_s > 0.
  double advance(double step_s, analysis::base::Celsius slab, analysis::base::RelativeHumidity air);

  [[nodiscard]] analysis::base::RelativeHumidity rh_at(analysis::base::Metres depth) const;
  [[nodiscard]] analysis::base::RelativeHumidity rh_at_probe() const;
  [[nodiscard]] double water_kg_per_m2() const;

 private:
  // kg/(m s) for RH 0 to 1, mean over the RHs between the two.
  [[nodiscard]] double mean_conductivity(double rh_a, double rh_b, double celsius) const;
  [[nodiscard]] double surface_conductance(double top_rh, double celsius) const;

  SlabParameters parameters_;
  physics::ChainStep chain_;
  double cell_m_;
  std::vector<double> rh_;  // cell centres, top first
};

}  // namespace firmware::sim::site
