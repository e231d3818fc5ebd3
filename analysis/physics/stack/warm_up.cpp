#include "analysis/physics/stack/warm_up.hpp"

#include <cmath>
#include <numbers>

#include "analysis/physics/bisection.hpp"

namespace analysis::physics {
namespace {

// First root of beta tan beta = biot, in 0..pi/2.
double first_root_from_biot(double biot) {
  constexpr double kTolerance = 1e-12;
  return root_by_bisection(
      [&](double beta) { return beta * std::sin(beta) - biot * std::cos(beta); }, 0.0,
      0.5 * std::numbers::pi, kTolerance);
}

double decay_rate_along(Metres depth, double conductivity_w_per_m_k,
                        const StackMaterial& material) {
  const double beta =
      first_root_from_biot(material.film_w_per_m2_k * depth.value() / conductivity_w_per_m_k);
  const double diffusivity =
      conductivity_w_per_m_k / (material.density_kg_per_m3 * material.heat_capacity_j_per_kg_k);
  return diffusivity * beta * beta / (depth.value() * depth.value());
}

}  // namespace

std::optional<Micros> time_until_within(StackField field, Celsius air, KelvinDelta limit,
                                        Micros horizon) {
  const auto distance = [&] {
    return std::abs((field.coldest_when_warming() - air).value()) - limit.value();
  };
  double before = distance();
  if (before <= 0.0) {
    return Micros{0};
  }
  for (Micros elapsed{0}; elapsed < horizon; elapsed += kLongestStackSubstep) {
    field.step(kLongestStackSubstep, air, air);
    const double after = distance();
    if (after <= 0.0) {
      const double share = before / (before - after);
      const Micros found =
          elapsed + Micros{std::llround(share * static_cast<double>(kLongestStackSubstep.count()))};
      return found <= horizon ? std::optional{found} : std::nullopt;
    }
    before = after;
  }
  return std::nullopt;
}

base::Result<Micros, DomainError> slowest_time_constant(const StackGeometry& geometry,
                                                        const StackMaterial& material) {
  if (const auto checked = check_stack(geometry, material); !checked) {
    return base::Failure{checked.error()};
  }
  const double in_plane = material.conductivity_in_plane_w_per_m_k;
  const double rate = decay_rate_along(Metres{0.5 * geometry.length.value()}, in_plane, material) +
                      decay_rate_along(Metres{0.5 * geometry.width.value()}, in_plane, material) +
                      decay_rate_along(heated_depth_across(geometry),
                                       material.conductivity_across_w_per_m_k, material);
  return Micros{std::llround(1e6 / rate)};
}

}  // namespace analysis::physics
