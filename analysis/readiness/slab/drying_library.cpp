#include "analysis/readiness/slab/drying_library.hpp"

#include <cmath>

namespace analysis::readiness {
namespace {

using base::Failure;
using base::Result;
using physics::DomainError;

struct Node {
  double value, weight;
};
constexpr Node kDryShare[] = {{0.025, 0.25}, {0.05, 0.5}, {0.1, 0.25}};
constexpr Node kSteepness[] = {{8.0, 0.4}, {15.0, 0.6}};
constexpr double kMiddleRh[] = {0.72, 0.76, 0.80, 0.84, 0.88};
constexpr double kMiddleRhMean = 0.80;
constexpr double kMiddleRhDeviation = 0.03;
constexpr int kInitialRhNodes = 11;

double middle_rh_density(double middle_rh) {
  const double z = (middle_rh - kMiddleRhMean) / kMiddleRhDeviation;
  return std::exp(-0.5 * z * z);
}

struct WeightedShape {
  physics::MoistureShape shape;
  double weight;
};

std::vector<WeightedShape> weighted_shapes() {
  double density_sum = 0.0;
  for (const double middle : kMiddleRh) {
    density_sum += middle_rh_density(middle);
  }
  std::vector<WeightedShape> shapes;
  for (const double middle : kMiddleRh) {
    for (const Node& dry : kDryShare) {
      for (const Node& steep : kSteepness) {
        shapes.push_back({{dry.value, RelativeHumidity{middle}, steep.value},
                          middle_rh_density(middle) / density_sum * dry.weight * steep.weight});
      }
    }
  }
  return shapes;
}

}  // namespace

Result<DryingLibrary, DomainError> DryingLibrary::solve(RelativeHumidity air_rh) {
  if (!(air_rh.value() >= 0.05 && air_rh.value() <= 0.80)) {
    return Failure{DomainError::rh_out_of_domain};
  }
  DryingLibrary library{air_rh};
  for (const WeightedShape& weighted : weighted_shapes()) {
    const auto table = physics::DiffusivityTable::from_shape(weighted.shape);
    if (!table) {
      return Failure{table.error()};
    }
    for (int i = 0; i < kInitialRhNodes; ++i) {
      const auto curve =
          physics::DryingCurve::solve(table.value(), base::rh_from_percent(90.0 + i), air_rh);
      if (!curve) {
        return Failure{curve.error()};
      }
      library.entries_.push_back({curve.value(), weighted.weight / kInitialRhNodes});
    }
  }
  return library;
}

}  // namespace analysis::readiness
