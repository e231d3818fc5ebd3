// A slab that never was, and what a probe in it would have read: the truth a forecast is scored by.
// Shares no code with the analysis: backward Euler in real time on a uniform grid of 200 layers
// with the diffusivity taken at the face, air humidity and temperature varying as the seasons and
// weeks do. Deterministic from its random generator.
#pragma once

#include <optional>
#include <random>
#include <vector>

namespace slab_truth {

struct SyntheticSlab {
  double thickness_m = 0.1;
  double strength_mpa = 30.0;
  double diffusivity_m2_per_s = 3.3e-10;  // D1 at 20 deg C
  double initial_rh = 0.97;
  double dry_share = 0.05;
  double middle_rh = 0.8;
  double steepness = 15.0;
  double air_rh = 0.5;
  double seasonal_rh = 0.0;  // amplitude
  double weekly_rh = 0.0;    // amplitude
  double temperature_celsius = 20.0;
  double seasonal_kelvin = 0.0;  // amplitude
  double season_phase = 0.0;     // rad at day 0
  double humidity_phase = 0.0;   // rad at day 0
  double probe_depth_m = 0.04;   // where it really is
  double probe_bias_rh = 0.0;
  double probe_noise_rh = 0.006;
  double first_day = 40.0;  // of the record, since drying began
  double last_day = 55.0;
};

// Misspecified on purpose: other shapes than the forecast's nodes, seasons, weeks, a probe off its
// depth and off its calibration.
[[nodiscard]] SyntheticSlab draw_slab(std::mt19937_64& random);

// RH of the air and temperature at a day since drying began.
[[nodiscard]] double air_rh_at(const SyntheticSlab& slab, double day);
[[nodiscard]] double celsius_at(const SyntheticSlab& slab, double day);

struct ProbeSample {
  double day, rh, celsius;
};
struct SlabTruth {
  std::vector<ProbeSample> samples;  // two a day over the record, bias and noise included
  std::vector<std::optional<double>> crossing_days;  // per limit, at 40 % of the thickness
};

inline constexpr double kLastTruthDay = 1400.0;

// `limits` falling. Crossing days up to kLastTruthDay.
[[nodiscard]] SlabTruth truth_of(const SyntheticSlab& slab, const std::vector<double>& limits,
                                 std::mt19937_64& random);

}  // namespace slab_truth
