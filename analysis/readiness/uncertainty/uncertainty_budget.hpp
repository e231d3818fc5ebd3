// Standard uncertainties of a measured value, combined. Pure; plain numbers in one unit of the
// caller's choice. Source: JCGM 100:2008 (GUM), 4.3.7 (limits), 5.1.2 (combination), G.4.1 (degrees
// of freedom).
#pragma once

#include <limits>
#include <span>

namespace analysis::readiness {

struct UncertaintyComponent {
  double standard = 0.0;  // already multiplied with its sensitivity; >= 0
  double degrees_of_freedom = std::numeric_limits<double>::infinity();
};

// Limits +-half_width within which every value is as likely.
[[nodiscard]] double standard_from_limits(double half_width);
// A display or count that moves in steps of `step`: limits of half a step.
[[nodiscard]] double standard_from_resolution(double step);
// REQUIRES: coverage_factor > 0.
[[nodiscard]] double standard_from_expanded(double expanded, double coverage_factor);

// Components that are independent of each other.
[[nodiscard]] double combined_standard(std::span<const UncertaintyComponent> components);
// Welch-Satterthwaite; infinite when every component's are.
[[nodiscard]] double effective_degrees_of_freedom(std::span<const UncertaintyComponent> components);

}  // namespace analysis::readiness
