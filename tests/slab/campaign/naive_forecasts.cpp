#include "tests/slab/campaign/naive_forecasts.hpp"

#include <cmath>
#include <limits>

namespace slab_truth {
namespace {

struct Line {
  double offset, slope, squares;  // value = offset + slope x; squares = sum of squared residuals
};

template <class X, class Y>
Line fitted_line(const std::vector<ProbeSample>& samples, X x_of, Y y_of) {
  const auto count = static_cast<double>(samples.size());
  double mean_x = 0.0, mean_y = 0.0;
  for (const ProbeSample& each : samples) {
    mean_x += x_of(each) / count;
    mean_y += y_of(each) / count;
  }
  double xx = 0.0, xy = 0.0, yy = 0.0;
  for (const ProbeSample& each : samples) {
    const double dx = x_of(each) - mean_x;
    const double dy = y_of(each) - mean_y;
    xx += dx * dx;
    xy += dx * dy;
    yy += dy * dy;
  }
  const double slope = xy / xx;
  return {mean_y - slope * mean_x, slope, yy - slope * xy};
}

double day_of(const ProbeSample& sample) { return sample.day; }
double rh_of(const ProbeSample& sample) { return sample.rh; }

std::optional<double> within(double day, const NaiveQuestion& question) {
  return std::isfinite(day) && day <= question.last_day ? std::optional{day} : std::nullopt;
}

}  // namespace

std::optional<double> linear_crossing_day(const std::vector<ProbeSample>& samples,
                                          const NaiveQuestion& question) {
  const Line line = fitted_line(samples, day_of, rh_of);
  if (line.slope >= 0.0) {
    return std::nullopt;
  }
  return within((question.limit_rh - line.offset) / line.slope, question);
}

std::optional<double> exponential_to_air_crossing_day(const std::vector<ProbeSample>& samples,
                                                      const NaiveQuestion& question) {
  const Line line = fitted_line(samples, day_of, [&](const ProbeSample& each) {
    return std::log(each.rh - question.air_rh);
  });
  if (line.slope >= 0.0) {
    return std::nullopt;
  }
  return within((std::log(question.limit_rh - question.air_rh) - line.offset) / line.slope,
                question);
}

std::optional<double> free_exponential_crossing_day(const std::vector<ProbeSample>& samples,
                                                    const NaiveQuestion& question) {
  // For a given time constant the fit is a line in exp(-day / constant): scan the constants.
  constexpr double kShortestDays = 2.0;
  constexpr double kLongestDays = 3000.0;
  constexpr double kScanRatio = 1.05;
  double least = std::numeric_limits<double>::infinity();
  std::optional<double> day;
  for (double constant = kShortestDays; constant < kLongestDays; constant *= kScanRatio) {
    const double start = samples.front().day;
    const Line line = fitted_line(
        samples, [&](const ProbeSample& each) { return std::exp(-(each.day - start) / constant); },
        rh_of);
    if (line.squares >= least) {
      continue;
    }
    least = line.squares;
    const double share = (question.limit_rh - line.offset) / line.slope;
    day = line.slope > 0.0 && share > 0.0 ? within(start - constant * std::log(share), question)
                                          : std::nullopt;
  }
  return day;
}

double inch_per_month_day(double thickness_m) { return thickness_m / 0.0254 * 30.0; }

}  // namespace slab_truth
