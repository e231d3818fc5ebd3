// The root of a steadily rising or falling function inside a bracket, by halving it. Chosen over
// faster methods because it can't leave the bracket: what calls it computes once a reading at most.
#pragma once

namespace analysis::physics {

// REQUIRES: low < high and `function` changes its sign once between them. The answer is within
// `tolerance` of the root (or as near as doubles come), in the unit of low and high. Pure.
template <class Function>
[[nodiscard]] double root_by_bisection(const Function& function, double low, double high,
                                       double tolerance) {
  constexpr int kMostSteps = 200;
  const bool rising = function(high) > function(low);
  for (int step = 0; step < kMostSteps && high - low > tolerance; ++step) {
    const double middle = 0.5 * (low + high);
    ((function(middle) > 0.0) == rising ? high : low) = middle;
  }
  return 0.5 * (low + high);
}

}  // namespace analysis::physics
