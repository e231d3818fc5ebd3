#include "analysis/physics/panel/moisture_uptake.hpp"

#include <cmath>
#include <numbers>

#include "analysis/physics/bisection.hpp"
#include "analysis/physics/psychrometrics.hpp"

namespace analysis::physics {
namespace {

using base::Failure;
using base::Result;

constexpr double kAirPermeability = 1.95e-10;  // kg/(m s Pa), EN ISO 12572, from memory
constexpr double kMicrosPerSecond = 1e6;
constexpr double kLongestMicros = 9.2e17;  // 30 000 years, well inside 64 bits
constexpr double kWrapSpread = 2.0;        // our assumption
constexpr double kMost = 0.90;

bool is_between(double value, double low, double high) { return value >= low && value <= high; }
bool is_length(Metres length) { return length.value() > 0.0 && length.value() <= 10.0; }

bool is_sound(const BoardSorption& sorption) {
  return is_between(sorption.density_kg_per_m3, 100.0, 1500.0) &&
         is_between(sorption.sorption_slope_kg_per_kg, 0.01, 1.0);
}

bool is_sound(const Carton& carton) {
  return is_length(carton.length) && is_length(carton.width) && is_length(carton.height) &&
         carton.filled_share > 0.0 && carton.filled_share <= 1.0;
}

// Still air's diffusivity of moisture if it were stored as the board stores it, m2/s.
Result<double, DomainError> diffusivity_through_air(Celsius board, const BoardSorption& sorption) {
  if (!is_between(board.value(), 0.0, 40.0)) {
    return Failure{DomainError::temperature_out_of_domain};
  }
  if (!is_sound(sorption)) {
    return Failure{DomainError::material_out_of_domain};
  }
  const double saturation = saturation_pressure_over_water(board).value().value();
  return kAirPermeability * saturation /
         (sorption.density_kg_per_m3 * sorption.sorption_slope_kg_per_kg);
}

Result<Micros, DomainError> micros_from_seconds(double seconds) {
  const double micros = seconds * kMicrosPerSecond;
  if (!(micros <= kLongestMicros)) {
    return Failure{DomainError::duration_out_of_domain};
  }
  return Micros{static_cast<std::int64_t>(std::llround(micros))};
}

Result<void, DomainError> checked(SquareMetresPerSecond d, Micros after) {
  if (!(d.value() > 0.0 && std::isfinite(d.value()))) {
    return Failure{DomainError::material_out_of_domain};
  }
  if (after < Micros{0}) {
    return Failure{DomainError::duration_out_of_domain};
  }
  return {};
}

// Integral of the complementary error function from x to infinity.
double integrated_erfc(double x) {
  return std::exp(-x * x) * std::numbers::inv_sqrtpi - x * std::erfc(x);
}

// `fourier` = D t / half_thickness^2. Crank 1975, eq. 4.20: converges at once for short times.
double short_time_uptake(double fourier) {
  const double root = std::sqrt(fourier);
  double sum = std::numbers::inv_sqrtpi;
  for (int n = 1; n <= 4; ++n) {
    sum += (n % 2 == 0 ? 2.0 : -2.0) * integrated_erfc(n / root);
  }
  return 2.0 * root * sum;
}

// Crank 1975, eq. 4.18: converges at once for long times.
double long_time_uptake(double fourier) {
  constexpr double kPiSquared = std::numbers::pi * std::numbers::pi;
  double left = 0.0;
  for (int n = 0; n <= 5; ++n) {
    const double odd_squared = (2.0 * n + 1.0) * (2.0 * n + 1.0);
    left += 8.0 / (kPiSquared * odd_squared) * std::exp(-odd_squared * kPiSquared * fourier / 4.0);
  }
  return 1.0 - left;
}

double uptake_at(double fourier) {
  constexpr double kWhereBothConverge = 0.2;
  if (fourier <= 0.0) {
    return 0.0;
  }
  return fourier < kWhereBothConverge ? short_time_uptake(fourier) : long_time_uptake(fourier);
}

struct DiffusivityRange {
  SquareMetresPerSecond slow, fast;
};
Result<DiffusivityRange, DomainError> diffusivities(Celsius board, const ResistanceRange& factors,
                                                    const BoardSorption& sorption) {
  const auto fast = moisture_diffusivity(board, factors.low, sorption);
  const auto slow = moisture_diffusivity(board, factors.high, sorption);
  if (!fast || !slow) {
    return Failure{fast ? slow.error() : fast.error()};
  }
  return DiffusivityRange{slow.value(), fast.value()};
}

Result<UptakeRange, DomainError> sheet_uptake_range(
    const Result<DiffusivityRange, DomainError>& range, Metres thickness, Micros after) {
  if (!range) {
    return Failure{range.error()};
  }
  const Metres half{thickness.value() / 2.0};
  const auto low = sheet_uptake(range.value().slow, half, after);
  const auto high = sheet_uptake(range.value().fast, half, after);
  if (!low || !high) {
    return Failure{low ? high.error() : low.error()};
  }
  return UptakeRange{low.value(), high.value()};
}

struct TimeConstantRange {
  Micros slow, fast;
};
Result<TimeConstantRange, DomainError> time_constants(const PanelPack& pack, CartonWrap wrap,
                                                      Celsius board) {
  const double middle = wrap_resistance(wrap).value();
  const auto slow =
      carton_time_constant(pack.carton, wrap, Metres{middle * kWrapSpread}, board, pack.sorption);
  const auto fast =
      carton_time_constant(pack.carton, wrap, Metres{middle / kWrapSpread}, board, pack.sorption);
  if (!slow || !fast) {
    return Failure{slow ? fast.error() : slow.error()};
  }
  return TimeConstantRange{slow.value(), fast.value()};
}

}  // namespace

Result<SquareMetresPerSecond, DomainError> moisture_diffusivity(Celsius board,
                                                                VapourResistanceFactor factor,
                                                                const BoardSorption& sorption) {
  const auto through_air = diffusivity_through_air(board, sorption);
  if (!through_air) {
    return Failure{through_air.error()};
  }
  if (!is_between(factor.value(), 1.0, 1000.0)) {
    return Failure{DomainError::material_out_of_domain};
  }
  return SquareMetresPerSecond{through_air.value() / factor.value()};
}

Result<Metres, DomainError> moisture_front_depth(SquareMetresPerSecond d, Micros after) {
  if (const auto sound = checked(d, after); !sound) {
    return Failure{sound.error()};
  }
  return Metres{std::sqrt(d.value() * base::seconds_from(after))};
}

Result<MoistureUptake, DomainError> sheet_uptake(SquareMetresPerSecond d, Metres half_thickness,
                                                 Micros after) {
  if (const auto sound = checked(d, after); !sound) {
    return Failure{sound.error()};
  }
  if (!is_length(half_thickness)) {
    return Failure{DomainError::length_out_of_domain};
  }
  const double half = half_thickness.value();
  return MoistureUptake{uptake_at(d.value() * base::seconds_from(after) / (half * half))};
}

Result<Micros, DomainError> duration_of_sheet_uptake(SquareMetresPerSecond d, Metres half_thickness,
                                                     MoistureUptake wanted) {
  constexpr double kFourierOfAll = 4.0;  // uptake 0.99996
  constexpr double kTolerance = 1e-13;
  if (const auto sound = checked(d, Micros{0}); !sound) {
    return Failure{sound.error()};
  }
  if (!is_length(half_thickness)) {
    return Failure{DomainError::length_out_of_domain};
  }
  if (!is_between(wanted.value(), 0.0, 0.999)) {
    return Failure{DomainError::duration_out_of_domain};
  }
  const double fourier = root_by_bisection([&](double x) { return uptake_at(x) - wanted.value(); },
                                           0.0, kFourierOfAll, kTolerance);
  const double half = half_thickness.value();
  return micros_from_seconds(fourier * half * half / d.value());
}

Metres wrap_resistance(CartonWrap wrap) {
  switch (wrap) {
    case CartonWrap::film_closed:
      return Metres{50.0};
    case CartonWrap::film_open_ends:
      return Metres{0.5};
    case CartonWrap::cardboard_only:
      return Metres{0.3};
  }
  return Metres{};
}

Result<Micros, DomainError> carton_time_constant(const Carton& carton, CartonWrap wrap,
                                                 Metres air_resistance, Celsius board,
                                                 const BoardSorption& sorption) {
  const auto through_air = diffusivity_through_air(board, sorption);
  if (!through_air) {
    return Failure{through_air.error()};
  }
  if (!is_sound(carton) || !is_between(air_resistance.value(), 0.001, 2000.0)) {
    return Failure{DomainError::length_out_of_domain};
  }
  const double length = carton.length.value();
  const double width = carton.width.value();
  const double height = carton.height.value();
  const double ends = 2.0 * width * height;
  const double area =
      wrap == CartonWrap::film_open_ends ? ends : ends + 2.0 * length * (width + height);
  const double board_per_area = carton.filled_share * length * width * height / area;
  return micros_from_seconds(air_resistance.value() * board_per_area / through_air.value());
}

MoistureUptake carton_uptake(Micros time_constant, Micros after) {
  return MoistureUptake{
      -std::expm1(-base::seconds_from(after) / base::seconds_from(time_constant))};
}

Result<UptakeRange, DomainError> plank_edge_uptake(const PanelPack& pack, Celsius board,
                                                   Micros after) {
  return sheet_uptake_range(diffusivities(board, kResistanceInPlane, pack.sorption),
                            pack.plank_width, after);
}

Result<UptakeRange, DomainError> raw_board_uptake(const PanelPack& pack, Celsius board,
                                                  Micros after) {
  return sheet_uptake_range(diffusivities(board, kResistanceThroughThickness, pack.sorption),
                            pack.board_thickness, after);
}

Result<UptakeRange, DomainError> wrapped_uptake(const PanelPack& pack, CartonWrap wrap,
                                                Celsius board, Micros after) {
  if (after < Micros{0}) {
    return Failure{DomainError::duration_out_of_domain};
  }
  const auto range = time_constants(pack, wrap, board);
  if (!range) {
    return Failure{range.error()};
  }
  return UptakeRange{carton_uptake(range.value().slow, after),
                     carton_uptake(range.value().fast, after)};
}

Result<CartonMoisture, DomainError> carton_moisture_after(const PanelPack& pack, CartonWrap wrap,
                                                          Celsius board, Micros after) {
  const auto taken_up = wrapped_uptake(pack, wrap, board, after);
  if (!taken_up) {
    return Failure{taken_up.error()};
  }
  const auto bare_edges = plank_edge_uptake(pack, board, after);
  if (!bare_edges) {
    return Failure{bare_edges.error()};
  }
  const auto d = diffusivities(board, kResistanceInPlane, pack.sorption).value();
  const auto constants = time_constants(pack, wrap, board).value();
  const auto until_most = [](Micros time_constant) {
    return micros_from_seconds(-std::log1p(-kMost) * base::seconds_from(time_constant));
  };
  const auto shortest = until_most(constants.fast);
  const auto longest = until_most(constants.slow);
  if (!shortest || !longest) {
    return Failure{DomainError::duration_out_of_domain};
  }
  return CartonMoisture{taken_up.value(),
                        bare_edges.value(),
                        moisture_front_depth(d.slow, after).value(),
                        moisture_front_depth(d.fast, after).value(),
                        shortest.value(),
                        longest.value()};
}

}  // namespace analysis::physics
