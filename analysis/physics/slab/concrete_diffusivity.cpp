#include "analysis/physics/slab/concrete_diffusivity.hpp"

#include <cmath>

namespace analysis::physics {
namespace {

using base::Failure;
using base::Result;

bool is_valid(const MoistureShape& shape) {
  const double middle = shape.middle_rh.value();
  return shape.dry_share > 0.0 && shape.dry_share <= 1.0 && middle > 0.0 && middle < 1.0 &&
         shape.steepness >= 1.0 && shape.steepness <= 30.0;
}

double unchecked_relative_diffusivity(const MoistureShape& shape, double rh) {
  const double dryness = (1.0 - rh) / (1.0 - shape.middle_rh.value());
  return shape.dry_share + (1.0 - shape.dry_share) / (1.0 + std::pow(dryness, shape.steepness));
}

}  // namespace

Result<double, DomainError> relative_diffusivity_from_rh(const MoistureShape& shape,
                                                         RelativeHumidity rh) {
  if (!is_valid(shape)) {
    return Failure{DomainError::material_out_of_domain};
  }
  if (!(rh.value() >= 0.0 && rh.value() <= 1.0)) {
    return Failure{DomainError::rh_out_of_domain};
  }
  return unchecked_relative_diffusivity(shape, rh.value());
}

Result<SquareMetresPerSecond, DomainError> saturated_diffusivity_from_strength(
    Megapascals characteristic_strength) {
  const double strength = characteristic_strength.value();
  if (!(strength >= 12.0 && strength <= 80.0)) {
    return Failure{DomainError::material_out_of_domain};
  }
  return SquareMetresPerSecond{1e-9 / (strength / 10.0)};
}

Result<double, DomainError> diffusivity_factor_from_temperature(Celsius temperature) {
  constexpr double kActivationKelvin = 4700.0;
  if (!(temperature.value() >= 0.0 && temperature.value() <= 50.0)) {
    return Failure{DomainError::temperature_out_of_domain};
  }
  const double reference = base::kelvin_from_celsius(Celsius{20.0});
  const double kelvin = base::kelvin_from_celsius(temperature);
  return kelvin / reference * std::exp(kActivationKelvin * (1.0 / reference - 1.0 / kelvin));
}

Result<DiffusivityTable, DomainError> DiffusivityTable::from_shape(const MoistureShape& shape) {
  if (!is_valid(shape)) {
    return Failure{DomainError::material_out_of_domain};
  }
  constexpr double kWidth = 1.0 / kIntervals;
  DiffusivityTable table;
  double lower = unchecked_relative_diffusivity(shape, 0.0);
  double potential = 0.0;
  for (std::size_t i = 0; i < kIntervals; ++i) {
    const double upper =
        unchecked_relative_diffusivity(shape, static_cast<double>(i + 1) / kIntervals);
    table.value_.push_back(lower);
    table.slope_.push_back((upper - lower) / kWidth);
    table.potential_.push_back(potential);
    potential += 0.5 * kWidth * (lower + upper);
    lower = upper;
  }
  return table;
}

}  // namespace analysis::physics
