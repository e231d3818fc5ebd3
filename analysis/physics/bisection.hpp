// The root of a steadily rising function inside a bracket, by halving it. Chosen over faster
// methods because it can't leave the bracket, and what calls it does so once a reading at most.
#pragma once

namespace analysis::physics {

// REQUIRES: low <= high, `function` rises and is not above 0 at low, not below 0 at high. The
// answer is within `tolerance` of the root, or as near as doubles come, in the unit of low and
// high. Pure.
template <class Function>
[[nodiscard]] double root_by_bisection(const Function& function, double low, double high,
                                       double tolerance) {
  constexpr int kMostSteps = 200;
  for (int step = 0; step < kMostSteps && high - low > tolerance; ++step) {
    const double middle = 0.5 * (low + high);
    (function(middle) > 0.0 ? high : low) = middle;
  }
  return 0.5 * (low + high);
}

}  // namespace analysis::physics
