// How well each of the parameter sets of the stack agrees with a probe in its core, and which of
// them remain plausible. Pure; O(1) memory.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

namespace analysis::readiness {

// From the fast to the slow material: fast, between, mid, between, slow.
inline constexpr std::size_t kStackSets = 5;
inline constexpr std::size_t kMidSet = kStackSets / 2;

struct StackSetRange {
  std::size_t fast = 0;
  std::size_t mid = kMidSet;
  std::size_t slow = kStackSets - 1;
  bool operator==(const StackSetRange&) const = default;
};

// Sums over the comparisons of predicted minus measured core, K. Survives a restart by value.
struct ProbeMisfit {
  std::int64_t comparisons = 0;
  std::array<double, kStackSets> sum_kelvin{};
  std::array<double, kStackSets> sum_kelvin2{};
  bool operator==(const ProbeMisfit&) const = default;
};

// Each comparison has a noise of 0.3 K of its own; all share one error of 0.3 K (where the probe
// sits, its calibration), which no number of readings averages out [asm]. With covariance
// s^2 I + b^2 11' the misfit is (S2 - b^2 S1^2 / (s^2 + n b^2)) / s^2.
[[nodiscard]] double weighted_misfit(const ProbeMisfit& misfit, std::size_t set);

// The best set as mid; fast and slow are the furthest sets whose misfit is within 4 of the best
// (two standard deviations), and at least its neighbours, for the truth may lie between two sets.
// Without comparisons the whole range.
[[nodiscard]] StackSetRange plausible_sets(const ProbeMisfit& misfit);

}  // namespace analysis::readiness
