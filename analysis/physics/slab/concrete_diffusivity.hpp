// How fast moisture moves in concrete: diffusivity as a function of the pore humidity, of strength
// and of temperature. Pure functions and an immutable table. Cement-bound concrete only; it knows
// nothing of screeds, of calcium sulfate, of lightweight aggregate nor of admixtures.
#pragma once

#include <algorithm>
#include <cstddef>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/base/units.hpp"
#include "analysis/physics/domain_error.hpp"

namespace analysis::physics {

using base::Celsius;
using base::Megapascals;
using base::RelativeHumidity;
using base::SquareMetresPerSecond;

// Shape of D(h)/D1 = a + (1 - a) / (1 + ((1 - h)/(1 - hc))^n), with h the pore RH.
// Source: Bazant and Najjar 1972; CEB-FIP Model Code 1990, eq. 2.1-74 ff. (numbers from memory).
// The defaults are the Model Code's, as in the test input of OOFEM's material of that name.
struct MoistureShape {
  double dry_share = 0.05;           // a: D of dry concrete over D1, above 0 to 1 (1 = constant D)
  RelativeHumidity middle_rh{0.80};  // hc: where D/D1 is exactly (1 + a)/2, above 0, below 1
  double steepness = 15.0;           // n, 1..30
};

// D/D1 at a pore humidity of 0..1.
[[nodiscard]] base::Result<double, DomainError> relative_diffusivity_from_rh(
    const MoistureShape& shape, RelativeHumidity rh);

// D1, of saturated concrete at 20 deg C, from the characteristic (5 % fractile) cylinder strength,
// 12..80 MPa: 1e-9 m2/s / (fck / 10 MPa). Source: CEB-FIP Model Code 1990 (from memory). Single
// slabs scatter about it by a factor of 1.4 to 1.6 either way (our assumption).
[[nodiscard]] base::Result<SquareMetresPerSecond, DomainError> saturated_diffusivity_from_strength(
    Megapascals characteristic_strength);

// Diffusivity at a concrete temperature of 0..50 deg C over that at 20 deg C:
// (T/T0) exp(4700 K (1/T0 - 1/T)). Source: Bazant and Najjar 1972 (from memory).
[[nodiscard]] base::Result<double, DomainError> diffusivity_factor_from_temperature(
    Celsius temperature);

// D/D1 of one shape, tabulated: linear between 1201 exact values over 0..1, and its integral from
// zero humidity, whose exact derivative it is.
class DiffusivityTable {
 public:
  [[nodiscard]] static base::Result<DiffusivityTable, DomainError> from_shape(
      const MoistureShape& shape);

  // Integral of D/D1 from 0 to rh (the Kirchhoff potential). Beyond 0..1 by the end's line, so that
  // an iterate may stray there for a moment.
  [[nodiscard]] double potential(RelativeHumidity rh) const {
    const auto [node, x] = place_of(rh);
    return potential_[node] + x * (value_[node] + 0.5 * x * slope_[node]);
  }
  [[nodiscard]] double relative_diffusivity(RelativeHumidity rh) const {
    const auto [node, x] = place_of(rh);
    return value_[node] + x * slope_[node];
  }

 private:
  static constexpr std::size_t kIntervals = 1200;
  struct Place {
    std::size_t node;
    double past;  // RH above the node
  };

  DiffusivityTable() = default;
  [[nodiscard]] static Place place_of(RelativeHumidity rh) {
    const double scaled =
        std::clamp(rh.value() * kIntervals, 0.0, static_cast<double>(kIntervals - 1));
    const auto node = static_cast<std::size_t>(scaled);
    return {node, rh.value() - static_cast<double>(node) / kIntervals};
  }

  std::vector<double> value_, slope_, potential_;  // one per interval, at its lower node
};

}  // namespace analysis::physics
