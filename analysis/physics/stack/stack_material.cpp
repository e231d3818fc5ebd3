#include "analysis/physics/stack/stack_material.hpp"

#include <cmath>

namespace analysis::physics {
namespace {

constexpr double kShortestMetres = 0.05;
constexpr double kLongestMetres = 3.0;
constexpr double kFurthestFactor = 20.0;

bool plausible_length(Metres length) {
  return length.value() >= kShortestMetres && length.value() <= kLongestMetres;
}

bool plausible_property(double value, double usual) {
  return value >= usual / kFurthestFactor && value <= usual * kFurthestFactor;
}

}  // namespace

StackMaterial material_between(const StackMaterial& a, const StackMaterial& b) {
  return {std::sqrt(a.conductivity_in_plane_w_per_m_k * b.conductivity_in_plane_w_per_m_k),
          std::sqrt(a.conductivity_across_w_per_m_k * b.conductivity_across_w_per_m_k),
          std::sqrt(a.density_kg_per_m3 * b.density_kg_per_m3),
          std::sqrt(a.heat_capacity_j_per_kg_k * b.heat_capacity_j_per_kg_k),
          std::sqrt(a.film_w_per_m2_k * b.film_w_per_m2_k)};
}

base::Result<void, DomainError> check_stack(const StackGeometry& geometry,
                                            const StackMaterial& material) {
  if (!plausible_length(geometry.length) || !plausible_length(geometry.width) ||
      !plausible_length(geometry.height)) {
    return base::Failure{DomainError::length_out_of_domain};
  }
  const StackMaterial& usual = kMidStack;
  if (!plausible_property(material.conductivity_in_plane_w_per_m_k,
                          usual.conductivity_in_plane_w_per_m_k) ||
      !plausible_property(material.conductivity_across_w_per_m_k,
                          usual.conductivity_across_w_per_m_k) ||
      !plausible_property(material.density_kg_per_m3, usual.density_kg_per_m3) ||
      !plausible_property(material.heat_capacity_j_per_kg_k, usual.heat_capacity_j_per_kg_k) ||
      !plausible_property(material.film_w_per_m2_k, usual.film_w_per_m2_k)) {
    return base::Failure{DomainError::material_out_of_domain};
  }
  return {};
}

}  // namespace analysis::physics
