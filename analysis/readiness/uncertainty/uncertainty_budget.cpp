#include "analysis/readiness/uncertainty/uncertainty_budget.hpp"

#include <cmath>

namespace analysis::readiness {

double standard_from_limits(double half_width) { return half_width / std::sqrt(3.0); }
double standard_from_resolution(double step) { return standard_from_limits(0.5 * step); }
double standard_from_expanded(double expanded, double coverage_factor) {
  return expanded / coverage_factor;
}

double combined_standard(std::span<const UncertaintyComponent> components) {
  double sum = 0.0;
  for (const UncertaintyComponent& component : components) {
    sum += component.standard * component.standard;
  }
  return std::sqrt(sum);
}

double effective_degrees_of_freedom(std::span<const UncertaintyComponent> components) {
  double sum = 0.0;
  for (const UncertaintyComponent& component : components) {
    sum += std::pow(component.standard, 4) / component.degrees_of_freedom;
  }
  const double numerator = std::pow(combined_standard(components), 4);
  return sum > 0.0 ? numerator / sum : std::numeric_limits<double>::infinity();
}

}  // namespace analysis::readiness
