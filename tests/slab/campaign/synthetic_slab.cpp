#include "tests/slab/campaign/synthetic_slab.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace slab_truth {
namespace {

constexpr std::size_t kLayers = 200;
constexpr double kShortestStepDays = 0.02;
constexpr double kLongestStepDays = 0.5;
constexpr double kStepGrowth = 1.05;
constexpr int kPicardRounds = 2;
constexpr double kSampleDays = 0.5;
constexpr double kTurn = 2.0 * std::numbers::pi;

double uniform(std::mt19937_64& random, double low, double high) {
  return std::uniform_real_distribution<double>{low, high}(random);
}
double normal(std::mt19937_64& random, double mean, double deviation) {
  return std::normal_distribution<double>{mean, deviation}(random);
}

double diffusivity_m2_per_day(const SyntheticSlab& slab, double rh, double celsius) {
  const double kelvin = celsius + 273.15;
  const double warmth = kelvin / 293.15 * std::exp(4700.0 * (1.0 / 293.15 - 1.0 / kelvin));
  const double dryness = std::max(0.0, 1.0 - rh) / (1.0 - slab.middle_rh);
  const double shape =
      slab.dry_share + (1.0 - slab.dry_share) / (1.0 + std::pow(dryness, slab.steepness));
  return slab.diffusivity_m2_per_s * 86400.0 * warmth * shape;
}

class TrueSlab {
 public:
  explicit TrueSlab(const SyntheticSlab& slab) : slab_(slab), rh_(kLayers, slab.initial_rh) {}

  void advance_to(double day) {
    while (day_ < day) {
      const double step = std::min(step_days_, day - day_);
      advance_by(step);
      step_days_ = std::min(step_days_ * kStepGrowth, kLongestStepDays);
    }
  }
  [[nodiscard]] double rh_at_depth(double depth_m) const {
    const double place = depth_m / layer_m() - 0.5;
    const auto before = static_cast<std::size_t>(place);
    const double share = place - static_cast<double>(before);
    return (1.0 - share) * rh_[before] + share * rh_[before + 1];
  }

 private:
  [[nodiscard]] double layer_m() const { return slab_.thickness_m / kLayers; }

  // Picard rounds: the diffusivity of the last iterate at each face, then one linear sweep.
  void advance_by(double step) {
    const double end = day_ + step;
    const std::vector<double> before = rh_;
    const double air = air_rh_at(slab_, end);
    const double celsius = celsius_at(slab_, end);
    const double scale = step / (layer_m() * layer_m());
    for (int round = 0; round < kPicardRounds; ++round) {
      sweep(before, air, celsius, scale);
    }
    day_ = end;
  }

  void sweep(const std::vector<double>& before, double air, double celsius, double scale) {
    std::vector<double> upper(kLayers), change(kLayers);
    double outer = 2.0 * scale * diffusivity_m2_per_day(slab_, 0.5 * (air + rh_[0]), celsius);
    for (std::size_t i = 0; i < kLayers; ++i) {
      const double inner =
          i + 1 < kLayers
              ? scale * diffusivity_m2_per_day(slab_, 0.5 * (rh_[i] + rh_[i + 1]), celsius)
              : 0.0;
      const double known = before[i] + (i == 0 ? outer * air : outer * change[i - 1]);
      const double pivot = 1.0 + outer + inner - (i == 0 ? 0.0 : outer * upper[i - 1]);
      upper[i] = inner / pivot;
      change[i] = known / pivot;
      outer = inner;
    }
    rh_[kLayers - 1] = change[kLayers - 1];
    for (std::size_t i = kLayers - 1; i-- > 0;) {
      rh_[i] = change[i] + upper[i] * rh_[i + 1];
    }
  }

  SyntheticSlab slab_;
  std::vector<double> rh_;
  double day_ = 0.0;
  double step_days_ = kShortestStepDays;
};

}  // namespace

SyntheticSlab draw_slab(std::mt19937_64& random) {
  SyntheticSlab slab;
  slab.thickness_m = uniform(random, 0.100, 0.150);
  slab.strength_mpa = uniform(random, 20.0, 40.0);
  slab.diffusivity_m2_per_s = 1e-8 / slab.strength_mpa * std::exp(normal(random, 0.0, 0.35));
  slab.initial_rh = uniform(random, 0.92, 1.0);
  slab.dry_share = std::min(0.5, 0.05 * std::exp(normal(random, 0.0, 0.35)));
  slab.middle_rh = normal(random, 0.80, 0.025);
  slab.steepness = uniform(random, 8.0, 18.0);
  slab.air_rh = uniform(random, 0.35, 0.60);
  slab.seasonal_rh = uniform(random, 0.0, 0.12);
  slab.weekly_rh = 0.05;
  slab.temperature_celsius = uniform(random, 16.0, 22.0);
  slab.seasonal_kelvin = uniform(random, 0.0, 5.0);
  slab.season_phase = uniform(random, 0.0, kTurn);
  slab.humidity_phase = uniform(random, 0.0, kTurn);
  slab.probe_depth_m = 0.4 * slab.thickness_m + normal(random, 0.0, 0.003);
  slab.probe_bias_rh = normal(random, 0.0, 0.008);
  slab.probe_noise_rh = 0.006;
  slab.first_day = uniform(random, 20.0, 60.0);
  slab.last_day = slab.first_day + uniform(random, 10.5, 20.5);
  return slab;
}

double air_rh_at(const SyntheticSlab& slab, double day) {
  return slab.air_rh + slab.seasonal_rh * std::sin(kTurn * day / 365.25 + slab.humidity_phase) +
         slab.weekly_rh * std::sin(kTurn * day / 7.0);
}
double celsius_at(const SyntheticSlab& slab, double day) {
  return slab.temperature_celsius +
         slab.seasonal_kelvin * std::sin(kTurn * day / 365.25 + slab.season_phase);
}

SlabTruth truth_of(const SyntheticSlab& slab, const std::vector<double>& limits,
                   std::mt19937_64& random) {
  SlabTruth truth;
  truth.crossing_days.resize(limits.size());
  TrueSlab concrete{slab};
  std::size_t next_limit = 0;
  double last_rh = slab.initial_rh;
  for (double day = kSampleDays; day <= kLastTruthDay && next_limit < limits.size();
       day += kSampleDays) {
    concrete.advance_to(day);
    const double rh = concrete.rh_at_depth(0.4 * slab.thickness_m);
    while (next_limit < limits.size() && rh <= limits[next_limit]) {
      truth.crossing_days[next_limit] =
          day - kSampleDays * (limits[next_limit] - rh) / (last_rh - rh);
      ++next_limit;
    }
    last_rh = rh;
    if (day >= slab.first_day && day <= slab.last_day) {
      truth.samples.push_back({day,
                               concrete.rh_at_depth(slab.probe_depth_m) + slab.probe_bias_rh +
                                   normal(random, 0.0, slab.probe_noise_rh),
                               celsius_at(slab, day)});
    }
  }
  return truth;
}

}  // namespace slab_truth
