#include "analysis/physics/panel/wood_moisture.hpp"

#include "analysis/physics/bisection.hpp"

namespace analysis::physics {
namespace {

using base::Failure;
using base::Result;

// constant + linear t + square t^2, t in deg C.
struct Quadratic {
  double constant, linear, square;
  [[nodiscard]] constexpr double at(double t) const { return constant + t * (linear + t * square); }
  [[nodiscard]] constexpr double slope_at(double t) const { return linear + 2.0 * t * square; }
};

// Source: Wood Handbook, FPL-GTR-282 (2021), ch. 4, eq. 4-5, deg C.
constexpr Quadratic kW{349.0, 1.29, 0.0135};
constexpr Quadratic kK{0.805, 0.000736, -0.00000273};
constexpr Quadratic kK1{6.27, -0.00938, -0.000303};
constexpr Quadratic kK2{1.91, 0.0407, -0.000293};
constexpr double kMolarWeight = 18.0;  // 1800 in the handbook, which gives percent

// The bracket of eq. 4-5 as function of x = K h: dissolved x/(1-x), hydrated numerator/denominator.
struct Sorption {
  double x, k1, k2;

  [[nodiscard]] double numerator() const { return k1 * x * (1.0 + 2.0 * k2 * x); }
  [[nodiscard]] double denominator() const { return 1.0 + k1 * x * (1.0 + k2 * x); }
  [[nodiscard]] double total() const { return x / (1.0 - x) + numerator() / denominator(); }

  // Derivative of the hydrated part, given those of numerator and denominator.
  [[nodiscard]] double hydrated_slope(double numerator_slope, double denominator_slope) const {
    return (numerator_slope - numerator() / denominator() * denominator_slope) / denominator();
  }
  [[nodiscard]] double slope_by_x() const {
    return 1.0 / ((1.0 - x) * (1.0 - x)) +
           hydrated_slope(k1 * (1.0 + 4.0 * k2 * x), k1 * (1.0 + 2.0 * k2 * x));
  }
  [[nodiscard]] double slope_by_k1() const {
    return hydrated_slope(x * (1.0 + 2.0 * k2 * x), x * (1.0 + k2 * x));
  }
  [[nodiscard]] double slope_by_k2() const { return hydrated_slope(2.0 * k1 * x * x, k1 * x * x); }
};

Sorption sorption_at(double t, double rh) { return {kK.at(t) * rh, kK1.at(t), kK2.at(t)}; }

double emc_fraction(double t, double rh) {
  return kMolarWeight / kW.at(t) * sorption_at(t, rh).total();
}

bool is_wood_temperature(Celsius t) { return t >= kColdestWood && t <= kHottestWood; }

Result<void, DomainError> checked(Celsius air, RelativeHumidity rh) {
  if (!is_wood_temperature(air)) {
    return Failure{DomainError::temperature_out_of_domain};
  }
  if (!(rh >= kDriestWoodAir && rh <= kDampestWoodAir)) {
    return Failure{DomainError::rh_out_of_domain};
  }
  return {};
}

}  // namespace

Result<MoistureContent, DomainError> wood_emc_from_rh(Celsius air, RelativeHumidity rh) {
  if (const auto sound = checked(air, rh); !sound) {
    return Failure{sound.error()};
  }
  return MoistureContent{emc_fraction(air.value(), rh.value())};
}

Result<WoodEmcSlopes, DomainError> wood_emc_slopes_from_rh(Celsius air, RelativeHumidity rh) {
  if (const auto sound = checked(air, rh); !sound) {
    return Failure{sound.error()};
  }
  const double t = air.value();
  const Sorption sorption = sorption_at(t, rh.value());
  const double scale = kMolarWeight / kW.at(t);
  const double by_rh = scale * sorption.slope_by_x() * kK.at(t);
  const double by_temperature =
      scale * (sorption.slope_by_x() * kK.slope_at(t) * rh.value() +
               sorption.slope_by_k1() * kK1.slope_at(t) + sorption.slope_by_k2() * kK2.slope_at(t) -
               sorption.total() * kW.slope_at(t) / kW.at(t));
  return WoodEmcSlopes{MoistureContentPerRelativeHumidity{by_rh},
                       MoistureContentPerKelvin{by_temperature}};
}

Result<RelativeHumidity, DomainError> rh_from_wood_emc(Celsius air, MoistureContent emc) {
  constexpr double kTolerance = 1e-11;
  if (!is_wood_temperature(air)) {
    return Failure{DomainError::temperature_out_of_domain};
  }
  const auto excess = [&](double rh) { return emc_fraction(air.value(), rh) - emc.value(); };
  if (!(excess(kDriestWoodAir.value()) <= 0.0 && excess(kDampestWoodAir.value()) >= 0.0)) {
    return Failure{DomainError::moisture_content_out_of_domain};
  }
  return RelativeHumidity{
      root_by_bisection(excess, kDriestWoodAir.value(), kDampestWoodAir.value(), kTolerance)};
}

}  // namespace analysis::physics
