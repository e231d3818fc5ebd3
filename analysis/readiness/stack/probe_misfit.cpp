#include "analysis/readiness/stack/probe_misfit.hpp"

#include <algorithm>

namespace analysis::readiness {
namespace {

constexpr double kNoiseVariance = 0.3 * 0.3;
constexpr double kCommonVariance = 0.3 * 0.3;
constexpr double kPlausibleExcess = 4.0;

}  // namespace

double weighted_misfit(const ProbeMisfit& misfit, std::size_t set) {
  const double sum = misfit.sum_kelvin[set];
  const double shared =
      kCommonVariance * sum * sum /
      (kNoiseVariance + kCommonVariance * static_cast<double>(misfit.comparisons));
  return (misfit.sum_kelvin2[set] - shared) / kNoiseVariance;
}

StackSetRange plausible_sets(const ProbeMisfit& misfit) {
  if (misfit.comparisons == 0) {
    return {};
  }
  std::array<double, kStackSets> misfits{};
  for (std::size_t set = 0; set < kStackSets; ++set) {
    misfits[set] = weighted_misfit(misfit, set);
  }
  const auto best =
      static_cast<std::size_t>(std::min_element(misfits.begin(), misfits.end()) - misfits.begin());
  const auto plausible = [&](double value) { return value <= misfits[best] + kPlausibleExcess; };
  const auto first = static_cast<std::size_t>(
      std::find_if(misfits.begin(), misfits.end(), plausible) - misfits.begin());
  const auto last =
      kStackSets - 1 -
      static_cast<std::size_t>(std::find_if(misfits.rbegin(), misfits.rend(), plausible) -
                               misfits.rbegin());
  return {std::min(first, best > 0 ? best - 1 : 0), best,
          std::max(last, std::min(best + 1, kStackSets - 1))};
}

}  // namespace analysis::readiness
