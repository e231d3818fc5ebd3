// The acceptance campaign of the slab forecast: fresh synthetic slabs of each seed given, at least
// `count` of them scored at every limit. Prints coverage and errors beside the naive ways; exits 1
// where the acceptance is missed, 2 on wrong usage.
//   forecast_campaign COUNT SEED [SEED ...]
#include <charconv>
#include <cstdio>
#include <optional>
#include <string_view>

#include "tests/slab/campaign/slab_campaign.hpp"

namespace {

using namespace slab_truth;

constexpr double kLowestCoverage = 0.75;
constexpr double kHighestCoverage = 0.95;
constexpr double kLargestMedianErrorDays = 35.0;  // at the first limit
constexpr double kLargestShareOfBestNaive = 0.65;
constexpr std::size_t kSlabsPerScored = 8;

std::optional<std::uint64_t> number_from(std::string_view text) {
  std::uint64_t number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  return error == std::errc{} && end == text.data() + text.size() ? std::optional{number}
                                                                  : std::nullopt;
}

void print_limit(const LimitScore& limit) {
  const auto scored = static_cast<double>(limit.scored);
  std::printf(
      "  %2.0f %%: %zu scored; 80 %% interval holds %.3f (truth before it %.3f), median width "
      "%.0f d; prior only holds %.3f; refused: at the limit %zu, otherwise %zu\n",
      100.0 * limit.limit_rh, limit.scored, limit.coverage(),
      static_cast<double>(limit.before) / scored, median_of(limit.widths_days),
      static_cast<double>(limit.prior_covered) / scored, limit.refused_at_limit,
      limit.refused_otherwise);
  for (std::size_t i = 0; i < kMethods; ++i) {
    const auto method = static_cast<Method>(i);
    const MethodScore& each = limit.of(method);
    std::printf(
        "      %-30s median error %4.0f d, no answer %4.1f %%; where it answers %4.0f d and "
        "the forecast %4.0f d\n",
        name_of(method), each.median_error(),
        100.0 * static_cast<double>(each.without_answer) / scored,
        each.median_error_where_answered(), limit.forecast_error_where_answered(method));
  }
  const auto ratios = limit.ratios_to_best_naive();
  std::printf(
      "      forecast over best naive way: %.2f where that answers, %.2f with no answer as "
      "the worst, %.2f on the same slabs\n",
      ratios.naive_where_answered, ratios.no_answer_worst, ratios.same_slabs);
}

bool accepted(const CampaignScore& score, std::size_t count) {
  bool good = true;
  for (const LimitScore& limit : score.limits) {
    good = good && limit.scored >= count && limit.coverage() >= kLowestCoverage &&
           limit.coverage() <= kHighestCoverage;
  }
  const LimitScore& first = score.limits.front();
  return good && first.of(Method::forecast).median_error() <= kLargestMedianErrorDays &&
         first.ratios_to_best_naive().naive_where_answered <= kLargestShareOfBestNaive;
}

}  // namespace

int main(int argc, char** argv) {
  const auto count = argc > 2 ? number_from(argv[1]) : std::nullopt;
  if (!count || *count == 0) {
    std::fprintf(stderr, "usage: forecast_campaign COUNT SEED [SEED ...]\n");
    return 2;
  }
  bool all_accepted = true;
  for (int i = 2; i < argc; ++i) {
    const auto seed = number_from(argv[i]);
    if (!seed) {
      std::fprintf(stderr, "forecast_campaign: \"%s\" is no seed\n", argv[i]);
      return 2;
    }
    const CampaignScore score = run_campaign(
        {.seed = *seed, .scored_wanted = *count, .most_slabs = kSlabsPerScored * *count});
    std::printf("seed %s: %zu slabs drawn\n", argv[i], score.slabs);
    for (const LimitScore& limit : score.limits) {
      print_limit(limit);
    }
    const bool good = accepted(score, *count);
    std::printf(
        "  acceptance: %s (coverage %.2f..%.2f at every limit; at %.0f %% median error <= "
        "%.0f d and <= %.2f of the best naive way where that answers)\n",
        good ? "met" : "MISSED", kLowestCoverage, kHighestCoverage,
        100.0 * score.limits.front().limit_rh, kLargestMedianErrorDays, kLargestShareOfBestNaive);
    std::fflush(stdout);
    all_accepted = all_accepted && good;
  }
  return all_accepted ? 0 : 1;
}
