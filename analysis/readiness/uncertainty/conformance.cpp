#include "analysis/readiness/uncertainty/conformance.hpp"

#include <algorithm>
#include <cmath>

namespace analysis::readiness {
namespace {

// Probability that value + error <= limit, the error normal with mean 0.
double probability_below(double limit, double value, double standard_uncertainty) {
  if (standard_uncertainty == 0.0) {
    return value <= limit ? 1.0 : 0.0;
  }
  return normal_distribution((limit - value) / standard_uncertainty);
}

// Likewise for < limit, so that a value on the limit conforms when nothing is uncertain.
double probability_under(double limit, double value, double standard_uncertainty) {
  return 1.0 - probability_below(-limit, -value, standard_uncertainty);
}

}  // namespace

double normal_distribution(double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); }

double conformance_probability(const ToleranceInterval& tolerance, double measured,
                               double standard_uncertainty) {
  return run_conformance_probability(tolerance, measured, measured, standard_uncertainty);
}

double run_conformance_probability(const ToleranceInterval& tolerance, double lowest,
                                   double highest, double standard_uncertainty) {
  const double not_above =
      tolerance.high ? probability_below(*tolerance.high, highest, standard_uncertainty) : 1.0;
  const double below =
      tolerance.low ? probability_under(*tolerance.low, lowest, standard_uncertainty) : 0.0;
  return std::max(not_above - below, 0.0);
}

ToleranceInterval guarded_from(const ToleranceInterval& tolerance, double standard_uncertainty) {
  const double guard = kCoverageFactor * standard_uncertainty;
  ToleranceInterval guarded = tolerance;
  if (guarded.low) {
    *guarded.low += guard;
  }
  if (guarded.high) {
    *guarded.high -= guard;
  }
  return guarded;
}

}  // namespace analysis::readiness
