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
  std::vector<double> errors_days;  // absolute, of each scored slab; infinite without an answer
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

  [[nodiscard]] const MethodScore& of(Method method) const;
  [[nodiscard]] double coverage() const;
  // The forecast's median error on the slabs for which `method` has an answer.
  [[nodiscard]] double forecast_error_where_answered(Method method) const;

  // The forecast's median error over that of the best naive way. Three ways to count a slab for
  // which the naive way has no answer: left out of the naive median only (the hardest on the
  // forecast, and what acceptance goes by), as the worst error, and left out of both medians.
  struct Ratios {
    double naive_where_answered, no_answer_worst, same_slabs;
  };
  [[nodiscard]] Ratios ratios_to_best_naive() const;
};

struct CampaignPlan {
  std::uint64_t seed = 0;
  std::size_t scored_wanted = 0;  // at every limit
  std::size_t most_slabs = 0;     // stop there
  std::vector<double> limits_rh{0.85, 0.80, 0.75};
  double air_step_percent = 0.5;  // the air's humidity is told rounded to it
};
struct CampaignScore {
  std::size_t slabs = 0;
  std::vector<LimitScore> limits;
};

// The forecast is told what a logger on the site would know: thickness, strength, start of drying,
// the readings with their temperature, and means of air humidity and of slab
// temperature over the record only.
[[nodiscard]] CampaignScore run_campaign(const CampaignPlan& plan);

[[nodiscard]] double median_of(std::vector<double> values);  // REQUIRES: not empty

}  // namespace slab_truth
