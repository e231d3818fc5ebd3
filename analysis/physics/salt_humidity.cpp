#include "analysis/physics/salt_humidity.hpp"

#include <algorithm>
#include <array>
#include <cstddef>

namespace analysis::physics {
namespace {

using base::Celsius;
using base::Failure;
using base::RelativeHumidity;
using base::RelativeHumidityPerKelvin;
using base::Result;

constexpr Celsius kColdestSolution{5.0};
constexpr Celsius kHottestSolution{50.0};

// Where uncertainties are tabulated.
constexpr std::array kNodesCelsius{5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0};

// RH in percent is constant + t (linear + t (square + t cube)), t in deg C.
struct SaltFormula {
  double constant, linear, square, cube;
  std::array<double, kNodesCelsius.size()> uncertainty_percent;  // at the nodes, k = 2
};

SaltFormula formula_of(Salt salt) {
  switch (salt) {
    case Salt::lithium_chloride:
      return {11.2323, 0.00824245, -0.214890e-3, 0.0, {1.0, 1.0, 1.0, 1.0, 0.3, 0.3, 0.3, 0.3}};
    case Salt::magnesium_chloride:
      return {33.6686, -0.00797397, -0.108988e-2, 0.0, {0.3, 0.3, 0.3, 0.2, 0.2, 0.2, 0.2, 0.2}};
    case Salt::magnesium_nitrate:
      return {60.3514, -0.298153, 0.0, 0.0, {0.5, 0.4, 0.3, 0.3, 0.3, 0.3, 0.4, 0.6}};
    case Salt::sodium_chloride:
      return {
          75.5164, 0.0398321, -0.265459e-2, 0.2848e-4, {0.3, 0.3, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2}};
    case Salt::potassium_chloride:
      return {88.6190, -0.193340, 0.899706e-3, 0.0, {0.5, 0.4, 0.4, 0.3, 0.3, 0.3, 0.3, 0.4}};
    case Salt::potassium_sulfate:
      return {98.7792, -0.0590502, 0.0, 0.0, {1.0, 0.8, 0.7, 0.6, 0.5, 0.4, 0.4, 0.5}};
  }
  return {};
}

double uncertainty_percent_at(const SaltFormula& formula, double t) {
  std::size_t above = 0;
  while (kNodesCelsius[above] < t) {
    ++above;
  }
  const std::size_t below = kNodesCelsius[above] > t ? above - 1 : above;
  return std::max(formula.uncertainty_percent[below], formula.uncertainty_percent[above]);
}

bool is_in_domain(Celsius t) { return t >= kColdestSolution && t <= kHottestSolution; }

}  // namespace

Result<SaltPoint, DomainError> salt_point_at(Salt salt, Celsius solution) {
  if (!is_in_domain(solution)) {
    return Failure{DomainError::temperature_out_of_domain};
  }
  const SaltFormula f = formula_of(salt);
  const double t = solution.value();
  return SaltPoint{base::rh_from_percent(f.constant + t * (f.linear + t * (f.square + t * f.cube))),
                   base::rh_from_percent(uncertainty_percent_at(f, t))};
}

Result<RelativeHumidityPerKelvin, DomainError> salt_rh_slope(Salt salt, Celsius solution) {
  if (!is_in_domain(solution)) {
    return Failure{DomainError::temperature_out_of_domain};
  }
  const SaltFormula f = formula_of(salt);
  const double t = solution.value();
  return RelativeHumidityPerKelvin{(f.linear + t * (2.0 * f.square + t * 3.0 * f.cube)) / 100.0};
}

}  // namespace analysis::physics
