#include "tests/slab/campaign/slab_campaign.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>
#include <map>
#include <optional>
#include <random>
#include <utility>

#include "analysis/readiness/slab/slab_forecast.hpp"
#include "tests/slab/campaign/naive_forecasts.hpp"
#include "tests/slab/campaign/synthetic_slab.hpp"

namespace slab_truth {
namespace {

using namespace analysis;
using readiness::CrossingDate;
using readiness::DryingLibrary;
using readiness::SlabForecast;

constexpr double kInfinite = std::numeric_limits<double>::infinity();
constexpr double kHorizonYears = 10.0;
constexpr base::UtcMicros kDryingStart{1'750'000'000'000'000};

base::UtcMicros at_day(double day) { return kDryingStart + base::micros_from_hours(24.0 * day); }
double day_from(const CrossingDate& date) {
  return date.kind == CrossingDate::Kind::beyond_horizon
             ? kInfinite
             : base::hours_from(date.at - kDryingStart) / 24.0;
}

// Solved once for each rounded humidity of the air; at most as many as there are of those.
class Libraries {
 public:
  explicit Libraries(double step_percent) : step_percent_(step_percent) {}

  const DryingLibrary& of_air(double air_rh) {
    const long steps = std::lround(100.0 * air_rh / step_percent_);
    auto found = solved_.find(steps);
    if (found == solved_.end()) {
      auto library =
          DryingLibrary::solve(base::rh_from_percent(step_percent_ * static_cast<double>(steps)));
      found = solved_.emplace(steps, std::move(library).value()).first;
    }
    return found->second;
  }

 private:
  double step_percent_;
  std::map<long, DryingLibrary> solved_;
};

readiness::SlabHistory history_of(const SyntheticSlab& slab, const SlabTruth& truth) {
  readiness::SlabHistory history;
  double mean_celsius = 0.0;
  for (const ProbeSample& each : truth.samples) {
    history.readings.push_back(
        {at_day(each.day), base::RelativeHumidity{each.rh}, base::Celsius{each.celsius}});
    mean_celsius += each.celsius / static_cast<double>(truth.samples.size());
  }
  history.drying_started_at = kDryingStart;
  history.thickness = base::Metres{slab.thickness_m};
  history.probe_depth = base::Metres{0.4 * slab.thickness_m};
  history.barrier_below_confirmed = true;
  history.characteristic_strength = base::Megapascals{slab.strength_mpa};
  history.slab_temperature = base::Celsius{mean_celsius};
  return history;
}

double mean_air_rh_over_record(const SyntheticSlab& slab) {
  constexpr double kHourDays = 1.0 / 24.0;
  double sum = 0.0;
  double count = 0.0;
  for (double day = slab.first_day; day <= slab.last_day; day += kHourDays) {
    sum += air_rh_at(slab, day);
    count += 1.0;
  }
  return sum / count;
}

struct Case {
  const SyntheticSlab& slab;
  const SlabTruth& truth;
  const DryingLibrary& library;
  double now_day;
};

std::size_t index_of(Method method) { return static_cast<std::size_t>(method); }

void score_method(LimitScore& score, Method method, std::optional<double> day, double true_day,
                  double now_day) {
  MethodScore& scored = score.methods[index_of(method)];
  if (!day || !std::isfinite(*day)) {
    scored.errors_days.push_back(kInfinite);
    ++scored.without_answer;
    return;
  }
  scored.errors_days.push_back(std::abs(std::max(*day, now_day) - true_day));
}

void score_naive(LimitScore& score, const Case& each, double true_day) {
  const NaiveQuestion question{score.limit_rh, each.library.air_rh().value(),
                               each.now_day + kHorizonYears * 365.25};
  const auto& samples = each.truth.samples;
  score_method(score, Method::linear, linear_crossing_day(samples, question), true_day,
               each.now_day);
  score_method(score, Method::exponential_to_air,
               exponential_to_air_crossing_day(samples, question), true_day, each.now_day);
  score_method(score, Method::free_exponential, free_exponential_crossing_day(samples, question),
               true_day, each.now_day);
  score_method(score, Method::inch_per_month, inch_per_month_day(each.slab.thickness_m), true_day,
               each.now_day);
}

// Median of those errors at whose place `mask` is finite.
double median_where_finite(const std::vector<double>& errors, const std::vector<double>& mask) {
  std::vector<double> kept;
  for (std::size_t i = 0; i < errors.size(); ++i) {
    if (std::isfinite(mask[i])) {
      kept.push_back(errors[i]);
    }
  }
  return kept.empty() ? kInfinite : median_of(std::move(kept));
}

bool covers(const SlabForecast& forecast, double true_day) {
  return day_from(forecast.early) <= true_day && true_day <= day_from(forecast.late);
}

void score_limit(LimitScore& score, const Case& each, double true_day) {
  readiness::SlabHistory history = history_of(each.slab, each.truth);
  const readiness::ForecastQuestion question{base::RelativeHumidity{score.limit_rh},
                                             at_day(each.now_day), kHorizonYears};
  const auto forecast = slab_forecast_from(history, each.library, question);
  if (!forecast) {
    const bool at_limit = forecast.error().reason == readiness::ForecastRefusal::already_at_limit;
    ++(at_limit ? score.refused_at_limit : score.refused_otherwise);
    return;
  }
  ++score.scored;
  score.covered += covers(forecast.value(), true_day) ? 1 : 0;
  score.before += true_day < day_from(forecast.value().early) ? 1 : 0;
  score.widths_days.push_back(day_from(forecast.value().late) - day_from(forecast.value().early));
  score_method(score, Method::forecast, day_from(forecast.value().median), true_day, each.now_day);
  history.probe.noise = base::RelativeHumidity{10.0};  // the readings say nothing then
  const auto prior = slab_forecast_from(history, each.library, question);
  score.prior_covered += prior && covers(prior.value(), true_day) ? 1 : 0;
  score_method(score, Method::prior_only,
               prior ? std::optional{day_from(prior.value().median)} : std::nullopt, true_day,
               each.now_day);
  score_naive(score, each, true_day);
}

}  // namespace

const char* name_of(Method method) {
  constexpr const char* kNames[kMethods] = {"forecast",
                                            "prior only, readings ignored",
                                            "straight line",
                                            "exponential to the air's RH",
                                            "exponential, free asymptote",
                                            "inch per month"};
  return kNames[index_of(method)];
}

double median_of(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

double MethodScore::median_error() const { return median_of(errors_days); }

double MethodScore::median_error_where_answered() const {
  return median_where_finite(errors_days, errors_days);
}

const MethodScore& LimitScore::of(Method method) const { return methods[index_of(method)]; }

double LimitScore::coverage() const {
  return static_cast<double>(covered) / static_cast<double>(scored);
}

double LimitScore::forecast_error_where_answered(Method method) const {
  return median_where_finite(of(Method::forecast).errors_days, of(method).errors_days);
}

LimitScore::Ratios LimitScore::ratios_to_best_naive() const {
  const double error = of(Method::forecast).median_error();
  Ratios largest{0.0, 0.0, 0.0};
  for (const Method method : {Method::linear, Method::exponential_to_air, Method::free_exponential,
                              Method::inch_per_month}) {
    const double answered = of(method).median_error_where_answered();
    largest.naive_where_answered = std::max(largest.naive_where_answered, error / answered);
    largest.no_answer_worst = std::max(largest.no_answer_worst, error / of(method).median_error());
    largest.same_slabs =
        std::max(largest.same_slabs, forecast_error_where_answered(method) / answered);
  }
  return largest;
}

CampaignScore run_campaign(const CampaignPlan& plan) {
  std::mt19937_64 random{plan.seed};
  Libraries libraries{plan.air_step_percent};
  CampaignScore score;
  for (const double limit : plan.limits_rh) {
    score.limits.emplace_back().limit_rh = limit;
  }
  const auto wants_more = [&] {
    return std::any_of(score.limits.begin(), score.limits.end(),
                       [&](const LimitScore& each) { return each.scored < plan.scored_wanted; });
  };
  while (wants_more() && score.slabs < plan.most_slabs) {
    ++score.slabs;
    const SyntheticSlab slab = draw_slab(random);
    const SlabTruth truth = truth_of(slab, plan.limits_rh, random);
    if (truth.samples.empty()) {
      continue;
    }
    const double now_day = truth.samples.back().day;
    const Case each{slab, truth, libraries.of_air(mean_air_rh_over_record(slab)), now_day};
    for (std::size_t i = 0; i < plan.limits_rh.size(); ++i) {
      const auto& crossing = truth.crossing_days[i];
      if (crossing && *crossing > now_day) {
        score_limit(score.limits[i], each, *crossing);
      }
    }
  }
  return score;
}

}  // namespace slab_truth
