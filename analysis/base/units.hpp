// Strong types for the physical values that cross function boundaries. One conversion is one named
// function. Fractions inside, percent only in text for people. No implicit conversions.
#pragma once

#include <compare>

namespace analysis::base {

// A double with a meaning. Quantities of different tags neither compare nor mix.
template <class Tag>
class Quantity {
 public:
  constexpr Quantity() = default;
  constexpr explicit Quantity(double value) : value_(value) {}
  [[nodiscard]] constexpr double value() const { return value_; }
  constexpr auto operator<=>(const Quantity&) const = default;

 private:
  double value_ = 0.0;
};

using Celsius = Quantity<struct CelsiusTag>;                    // thermodynamic temperature, deg C
using KelvinDelta = Quantity<struct KelvinDeltaTag>;            // temperature difference, K
using Pascal = Quantity<struct PascalTag>;                      // pressure, Pa
using RelativeHumidity = Quantity<struct RelativeHumidityTag>;  // fraction over water, 0..1
using MoistureContent = Quantity<struct MoistureContentTag>;    // kg water per kg dry matter
using HumidityRatio = Quantity<struct HumidityRatioTag>;        // kg vapour per kg dry air
using AbsoluteHumidity = Quantity<struct AbsoluteHumidityTag>;  // kg vapour per m3 of air
using Metres = Quantity<struct MetresTag>;                      // length, m
using SquareMetres = Quantity<struct SquareMetresTag>;          // area, m2
using CubicMetres = Quantity<struct CubicMetresTag>;            // volume, m3
using Kilograms = Quantity<struct KilogramsTag>;                // mass, kg
using KilogramsPerDay = Quantity<struct KilogramsPerDayTag>;    // mass flow, kg/d
using SquareMetresPerSecond = Quantity<struct SquareMetresPerSecondTag>;  // diffusivity, m2/s
using Megapascals = Quantity<struct MegapascalsTag>;                      // strength, MPa = N/mm2
using Volts = Quantity<struct VoltsTag>;                                  // electric potential, V
using AirChangesPerHour = Quantity<struct AirChangesPerHourTag>;  // room volumes of air, 1/h

// Slopes and ratios of moist air and of wood.
using PascalPerKelvin = Quantity<struct PascalPerKelvinTag>;
using KilogramsPerCubicMetre = Quantity<struct KilogramsPerCubicMetreTag>;
using RelativeHumidityPerKelvin = Quantity<struct RelativeHumidityPerKelvinTag>;  // fraction / K
using KelvinPerRelativeHumidity = Quantity<struct KelvinPerRelativeHumidityTag>;  // K / fraction
using KelvinPerKelvin = Quantity<struct KelvinPerKelvinTag>;  // one temperature by another
using MoistureContentPerRelativeHumidity = Quantity<struct MoistureContentPerRelativeHumidityTag>;
using MoistureContentPerKelvin = Quantity<struct MoistureContentPerKelvinTag>;
using VapourResistanceFactor = Quantity<struct VapourResistanceFactorTag>;  // still air = 1
using MoistureUptake = Quantity<struct MoistureUptakeTag>;  // share of the final change, 0..1
using MovementCoefficient = Quantity<struct MovementCoefficientTag>;  // m/m per RH fraction

// Positive when `a` is warmer than `b`.
constexpr KelvinDelta operator-(Celsius a, Celsius b) { return KelvinDelta{a.value() - b.value()}; }
constexpr Celsius operator+(Celsius a, KelvinDelta d) { return Celsius{a.value() + d.value()}; }

constexpr RelativeHumidity rh_from_percent(double percent) {
  return RelativeHumidity{percent / 100.0};
}
constexpr double percent_from_rh(RelativeHumidity rh) { return rh.value() * 100.0; }
constexpr double fahrenheit_from_celsius(Celsius t) { return t.value() * 1.8 + 32.0; }
constexpr double kelvin_from_celsius(Celsius t) { return t.value() + 273.15; }

}  // namespace analysis::base
