// Forecasts for many synthetic slabs, scored against their truth and beside the naive ways.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace slab_truth {

enum class Method : std::uint8_t {
  forecast,
  prior_only,
  linear,
  exponential_to_air,
  free_exponential,
  inch_per_month
};
inline constexpr std::size_t kMethods = 6;
[[nodiscard]] const char* name_of(Method method);

struct MethodScore {
  std::vector<double> errors_days;  // absolute; infinite where there is no answer
  std::size_t without_answer = 0;

  [[nodiscard]] double median_error() const;  // over all scored slabs, no answer the worst
  [[nodiscard]] double median_error_where_answered() const;
};

struct LimitScore {
  double limit_rh = 0.0;
  std::size_t scored = 0;   // not yet dry at the forecast, dry by day 1400, and not refused
  std::size_t covered = 0;  // truth inside the 80 % interval
  std::size_t before = 0;   // truth before it
  std::size_t prior_covered = 0;
  std::size_t refused_at_limit = 0;  // would be scored, but the probe reads the limit already
  std::size_t refused_otherwise = 0;
  std::vector<double> widths_days;
  std::array<MethodScore, kMethods> methods;

  [[nodiscard]] double coverage() const;
  [[nodiscard]] double best_naive_median_error() const;
};

struct CampaignPlan {
  std::uint64_t seed = 0;
  std::size_t scored_wanted = 0;  // at every limit
  std::size_t most_slabs = 0;     // stop there
  std::vector<double> limits_rh{0.85, 0.80, 0.75};
};
struct CampaignScore {
  std::size_t slabs = 0;
  std::vector<LimitScore> limits;
};

// The forecast is told what a logger on the site would know: thickness, strength, start of drying,
// the readings with their temperature, and means of air humidity (to half a per cent) and of slab
// temperature over the record only.
[[nodiscard]] CampaignScore run_campaign(const CampaignPlan& plan);

[[nodiscard]] double median_of(std::vector<double> values);  // REQUIRES: not empty

}  // namespace slab_truth
