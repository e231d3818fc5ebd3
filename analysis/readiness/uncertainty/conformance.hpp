// Decisions beside a limit when the measured value is uncertain. Pure. Values are plain numbers in
// one unit of the caller's choice; errors are taken as normal with a known standard uncertainty.
// Source: JCGM 106:2012, sections 7 (conformance probability) and 8 (acceptance with guard bands);
// clause numbers from memory.
#pragma once

#include <optional>

namespace analysis::readiness {

// Cumulative standard normal distribution.
[[nodiscard]] double normal_distribution(double z);

// What is tolerated; a missing end is open. Both ends belong to it.
struct ToleranceInterval {
  std::optional<double> low;
  std::optional<double> high;
};

// Probability that the true value conforms, given the measured one. With u = 0 it is 0 or 1.
// REQUIRES: standard_uncertainty >= 0.
[[nodiscard]] double conformance_probability(const ToleranceInterval& tolerance, double measured,
                                             double standard_uncertainty);

// The same for a run of readings of one sensor between `lowest` and `highest`. The error of a
// sensor is nearly the same in every reading, so the run conforms when its two extremes do under
// one common error; probabilities of single readings are never multiplied. REQUIRES: as above,
// lowest <= highest.
[[nodiscard]] double run_conformance_probability(const ToleranceInterval& tolerance, double lowest,
                                                 double highest, double standard_uncertainty);

// Guarded acceptance: the tolerance drawn in at each end by the expanded uncertainty, k = 2, which
// bounds the probability of a wrong acceptance by 2.3 % at each end. May leave nothing (low >
// high).
inline constexpr double kCoverageFactor = 2.0;
[[nodiscard]] ToleranceInterval guarded_from(const ToleranceInterval& tolerance,
                                             double standard_uncertainty);

}  // namespace analysis::readiness
