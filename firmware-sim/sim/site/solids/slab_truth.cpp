#include "firmware-sim/sim/site/solids/slab_truth.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace firmware::sim::site {
namespace {

constexpr double kReferenceRh = 0.8;
constexpr double kReferenceCelsius = 20.0;

// Mean of exp(k h) between two values of h: with it the flow between two cells is that of the
// exact integral of K over h.
double mean_exponential(double k, double a, double b) {
  const double x = k * (b - a);
  if (std::abs(x) < 1e-6) {
    return std::exp(k * 0.5 * (a + b));
  }
  return std::exp(k * a) * std::expm1(x) / x;
}

}  // namespace

using analysis::base::Celsius;
using analysis::base::Metres;
using analysis::base::RelativeHumidity;

SlabTruth::SlabTruth(const SlabParameters& parameters)
    : parameters_(parameters),
      cell_m_(parameters.thickness_m / static_cast<double>(parameters.cells)),
      rh_(parameters.cells, parameters.cast_rh_fraction) {}

void SlabTruth::dry_until_start() {
  constexpr double kShortestStepS = 3600.0;
  constexpr double kStepsOfDiffusionTime = 2000.0;  // so that no slab keeps the caller waiting
  constexpr double kStandsStill = 1e-12;
  const double step_s =
      std::max(kShortestStepS, parameters_.thickness_m * parameters_.thickness_m /
                                   parameters_.d_ref_m2_per_s / kStepsOfDiffusionTime);
  const RelativeHumidity air{parameters_.start_air_rh_fraction};
  double fall = 1.0;
  while (rh_at_probe().value() > parameters_.start_rh_fraction && fall > kStandsStill) {
    const double before = rh_at_probe().value();
    // The first hours do not reach down to the probe.
    const double given_off = advance(step_s, Celsius{kReferenceCelsius}, air);
    fall = std::max(before - rh_at_probe().value(), given_off);
  }
}

double SlabTruth::mean_conductivity(double rh_a, double rh_b, double celsius) const {
  const double scale = std::exp(-parameters_.d_steepness * kReferenceRh +
                                parameters_.d_per_k * (celsius - kReferenceCelsius));
  return parameters_.capacity_kg_per_m3 * parameters_.d_ref_m2_per_s * scale *
         mean_exponential(parameters_.d_steepness, rh_a, rh_b);
}

// Half a cell of concrete and the air film, one after the other; kg/(m2 s) for RH 0 to 1.
double SlabTruth::surface_conductance(double top_rh, double celsius) const {
  const double concrete = mean_conductivity(top_rh, top_rh, celsius) / (0.5 * cell_m_);
  return 1.0 / (1.0 / concrete + 1.0 / parameters_.surface_kg_per_m2s);
}

double SlabTruth::advance(double step_s, Celsius slab, RelativeHumidity air) {
  constexpr int kMostIterations = 50;
  constexpr double kConverged = 1e-9;
  const double capacity = parameters_.capacity_kg_per_m3 * cell_m_;
  std::vector<double> guess = rh_;
  std::vector<double> link(rh_.size() - 1, 0.0);
  double surface = 0.0;
  for (int i = 0; i < kMostIterations; ++i) {
    for (std::size_t cell = 0; cell + 1 < guess.size(); ++cell) {
      link[cell] = step_s * mean_conductivity(guess[cell], guess[cell + 1], slab.value()) / cell_m_;
    }
    surface = step_s * surface_conductance(guess.front(), slab.value());
    std::vector<double> next = rh_;
    chain_.advance(next, capacity, link, {surface, air.value()});
    double change = 0.0;
    for (std::size_t cell = 0; cell < next.size(); ++cell) {
      change = std::max(change, std::abs(next[cell] - guess[cell]));
    }
    guess = std::move(next);
    if (change < kConverged) {
      break;
    }
  }
  rh_ = std::move(guess);
  return surface * (rh_.front() - air.value());
}

RelativeHumidity SlabTruth::rh_at(Metres depth) const {
  const double last = static_cast<double>(rh_.size() - 1);
  const double position = std::clamp(depth.value() / cell_m_ - 0.5, 0.0, last);
  const auto below = static_cast<std::size_t>(position);
  const std::size_t above = std::min(below + 1, rh_.size() - 1);
  const double share = position - static_cast<double>(below);
  return RelativeHumidity{rh_[below] * (1.0 - share) + rh_[above] * share};
}

RelativeHumidity SlabTruth::rh_at_probe() const { return rh_at(Metres{parameters_.probe_depth_m}); }

double SlabTruth::water_kg_per_m2() const {
  double sum = 0.0;
  for (const double rh : rh_) {
    sum += rh;
  }
  return sum * parameters_.capacity_kg_per_m3 * cell_m_;
}

}  // namespace firmware::sim::site
