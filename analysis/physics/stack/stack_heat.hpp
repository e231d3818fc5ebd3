// Temperature inside a stack of cartons in a room whose air changes: heat conduction in a brick
// with an air film on its faces. A value type without heap memory; one field is used by one thread.
// Does not know readings, gaps or limits, and leaves out moisture and the heat it takes up.
//
// Equation: rho cp dT/dt = kx Txx + ky Tyy + kz Tzz; -k dT/dn = h (T - Ta(t)) on exposed faces; no
// flux through an insulated bottom. Source: Carslaw and Jaeger 1959, ch. 1 and 6 (from memory).
// Scheme: finite volumes on one octant in u = T - Ta. The 1-D operators along the three axes
// commute, so a substep is the product of their propagators, with the change of the air split
// evenly before and after (Strang 1968). A 1-D propagator is TR-BDF2 (Bank et al. 1985), which is
// L-stable. An insulated bottom is the plane of symmetry of a stack of twice the height.
// Accuracy from one hour after a change on: 0.05 K for the last point to follow, 0.1 K for the mean
// (tests/stack/stack_heat_test.cpp, against the exact series).
#pragma once

#include <array>
#include <cstddef>

#include "analysis/base/result.hpp"
#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"
#include "analysis/physics/domain_error.hpp"
#include "analysis/physics/stack/stack_material.hpp"

namespace analysis::physics {

using base::Micros;

// Longer steps are cut into equal parts of at most this.
inline constexpr Micros kLongestStackSubstep{900'000'000};

class StackField {
 public:
  // A stack of one temperature, kColdestStack..kWarmestStack, as it comes off the lorry. Errors of
  // check_stack; temperature_out_of_domain.
  [[nodiscard]] static base::Result<StackField, DomainError> start(const StackGeometry& geometry,
                                                                   const StackMaterial& material,
                                                                   Celsius delivery);

  // Advances by `duration`, the air going linearly from one temperature to the other; it may jump
  // between two calls. Cheapest where the substep is kLongestStackSubstep or that of the call
  // before. REQUIRES: duration > 0; finite temperatures.
  void step(Micros duration, Celsius air_from, Celsius air_to);

  // The last point to follow the room: the centre, or the centre of the base on an insulated floor.
  [[nodiscard]] Celsius coldest_when_warming() const;
  // Over the volume, and so over the heat held; less accurate than the core while it changes fast.
  [[nodiscard]] Celsius mean() const;

 private:
  static constexpr std::size_t kCellsLength = 12;
  static constexpr std::size_t kCellsWidth = 10;  // with 8 a stack 0.39 m wide is 0.056 K wrong
  static constexpr std::size_t kCellsHeight = 12;
  static constexpr std::size_t kPlane = kCellsLength * kCellsWidth;

  // One axis from the plane of symmetry (cell 0) to the exposed face.
  struct Axis {
    double between_cells_per_s = 0.0;  // exchange rate of neighbours
    double to_air_per_s = 0.0;         // exchange rate of the outermost cell with the air
  };
  struct Propagators {
    double substep_s = 0.0;
    std::array<double, kCellsLength * kCellsLength> length{};
    std::array<double, kCellsWidth * kCellsWidth> width{};
    std::array<double, kCellsHeight * kCellsHeight> height{};
  };

  StackField(const StackGeometry& geometry, const StackMaterial& material, Celsius delivery);
  static Axis axis_from(Metres cell, double conductivity_w_per_m_k, const StackMaterial& material);
  template <std::size_t kCells>
  static std::array<double, kCells * kCells> propagator_of(const Axis& axis, double substep_s);
  [[nodiscard]] Propagators propagators_of(double substep_s) const;
  const Propagators& propagators_for(double substep_s);
  void substep(const Propagators& propagators, double air_change);

  Axis length_, width_, height_;
  double air_celsius_;
  // T - Ta in the cells: rows along the length, planes of such rows over the width, over the
  // height.
  std::array<double, kPlane * kCellsHeight> excess_{};
  Propagators usual_;  // of kLongestStackSubstep
  Propagators other_;  // of the last other substep
};

}  // namespace analysis::physics
