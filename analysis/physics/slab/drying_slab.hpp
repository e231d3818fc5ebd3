// Humidity inside a slab that dries through one face, in scaled time: one value per layer, advanced
// step by step. Not for sharing between threads while it advances. Drying only: no rewetting, no
// self-desiccation, no moisture from below, the surface at the humidity of the air (a film changes
// crossing times by less than 1 %).
//   dh/dtau = d/dx( D(h)/D1 dh/dx ),  x = depth/L,  tau = D1 t / L^2,  h = air at x = 0, sealed at
//   1
// Source: Bazant and Najjar 1972; CEB-FIP Model Code 1990.
// A slab of thickness 2L that dries through both faces is the same problem twice.
#pragma once

#include <cstddef>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/base/units.hpp"
#include "analysis/physics/domain_error.hpp"
#include "analysis/physics/slab/concrete_diffusivity.hpp"

namespace analysis::physics {

using ScaledTime = base::Quantity<struct ScaledTimeTag>;  // D1 t / L^2

// Layers grow inwards from the drying face by `ratio`.
struct SlabLayers {
  std::size_t count = 20;
  double ratio = 1.1;
};

// Finite volumes with the Kirchhoff potential in the fluxes; two-stage diagonally implicit
// Runge-Kutta of second order, L-stable (gamma = 1 - 1/sqrt 2; Alexander 1977), Newton to 1e-9.
class DryingSlab {
 public:
  // 0 <= air < initial <= 1, at least 4 layers, ratio 1..2.
  [[nodiscard]] static base::Result<DryingSlab, DomainError> at_start(RelativeHumidity initial,
                                                                      RelativeHumidity air,
                                                                      SlabLayers layers = {});

  // `table` is the same at every step. A step below or equal to zero is duration_out_of_domain;
  // after no_convergence the slab is as before. O(layers).
  [[nodiscard]] base::Result<void, DomainError> advance(const DiffusivityTable& table,
                                                        ScaledTime step);

  // At a depth of 0..1 of the drying length: cubic through the four nearest layers, the surface and
  // the mirror image beyond the sealed face counting as such.
  [[nodiscard]] base::Result<RelativeHumidity, DomainError> rh_at_depth(double depth_share) const;
  [[nodiscard]] RelativeHumidity mean_rh() const;

 private:
  DryingSlab() = default;
  [[nodiscard]] bool solve_stage(const DiffusivityTable& table, const std::vector<double>& known,
                                 double implicit_step, std::vector<double>& rh);
  [[nodiscard]] double newton_step(const DiffusivityTable& table, const std::vector<double>& known,
                                   double implicit_step, std::vector<double>& rh);

  double air_rh_ = 0.0;
  std::vector<double> rh_, width_, centre_;
  std::vector<double> distance_;  // to the layer before; of the first, to the surface
  // Room for a step: kept so that a step allocates nothing.
  std::vector<double> stage_, known_, potential_, diffusivity_, upper_, change_;
};

}  // namespace analysis::physics
