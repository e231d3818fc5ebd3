// What people do instead of a forecast, to be measured beside it.
#pragma once

#include <optional>
#include <vector>

#include "tests/slab/campaign/synthetic_slab.hpp"

namespace slab_truth {

// Days since drying began at which the extrapolated readings reach the limit; nullopt where they
// never do or not within `last_day`.
struct NaiveQuestion {
  double limit_rh, air_rh, last_day;
};

// Straight line through the readings.
[[nodiscard]] std::optional<double> linear_crossing_day(const std::vector<ProbeSample>& samples,
                                                        const NaiveQuestion& question);
// Exponential decay to the humidity of the air.
[[nodiscard]] std::optional<double> exponential_to_air_crossing_day(
    const std::vector<ProbeSample>& samples, const NaiveQuestion& question);
// Exponential decay to whatever fits best.
[[nodiscard]] std::optional<double> free_exponential_crossing_day(
    const std::vector<ProbeSample>& samples, const NaiveQuestion& question);
// 30 days for each inch of thickness, whatever the limit.
[[nodiscard]] double inch_per_month_day(double thickness_m);

}  // namespace slab_truth
