#include "logger/app/outlook/texts/shown_values.hpp"

#include <cmath>

#include "logger/app/text/terminal_text.hpp"

namespace logger::app {

using analysis::base::Celsius;

namespace {

constexpr double kMetresPerInch = 0.0254;
constexpr double kMetresPerFoot = 0.3048;
constexpr double kLitresPerGallon = 3.785411784;  // of the USA
constexpr double kHoursPerDay = 24.0;
constexpr double kDaysPerYear = 365.25;

// Less than any length is known to, but more than arithmetic leaves behind.
constexpr double kLengthNoise = 1e-6;
// Added before a figure is rounded, so that a tie that arithmetic blurred reads alike everywhere.
constexpr double kTieNoise = 1e-7;

// Two digits that count for small amounts, whole numbers for large ones.
std::string amount(double value) { return fixed(value, value < 0.995 ? 2 : value < 9.95 ? 1 : 0); }

}  // namespace

double shown_celsius(double celsius, ShownUnits units) {
  return units.imperial ? fahrenheit_from_celsius(Celsius{celsius}) : celsius;
}
std::string temperature_unit(ShownUnits units) { return units.imperial ? "°F" : "°C"; }

std::string text_of(Celsius value, ShownUnits units) {
  return fixed(shown_celsius(value.value(), units), 1) + " " + temperature_unit(units);
}
std::string text_of(analysis::base::KelvinDelta value, ShownUnits units) {
  return units.imperial ? fixed(value.value() * 1.8, 1) + " °F" : fixed(value.value(), 1) + " K";
}
std::string text_of(analysis::base::RelativeHumidity value) {
  return fixed(percent_from_rh(value) + kTieNoise, 1) + " %RH";
}
std::string short_length(analysis::base::Metres value, ShownUnits units) {
  return units.imperial ? fixed(value.value() / kMetresPerInch + kTieNoise, 2) + " in"
                        : fixed(value.value() * 1000.0 + kTieNoise, 1) + " mm";
}
std::string long_length(analysis::base::Metres value, ShownUnits units) {
  return units.imperial ? fixed(value.value() / kMetresPerFoot, 1) + " ft"
                        : fixed(value.value(), 1) + " m";
}
std::string needed_length(analysis::base::Metres value, ShownUnits units) {
  const double step = units.imperial ? 0.01 * kMetresPerInch : 1e-4;
  return short_length(analysis::base::Metres{std::ceil(value.value() / step - kLengthNoise) * step},
                      units);
}
std::string allowed_length(analysis::base::Metres value, ShownUnits units) {
  const double step = units.imperial ? 0.1 * kMetresPerFoot : 0.1;
  return long_length(analysis::base::Metres{std::floor(value.value() / step + kLengthNoise) * step},
                     units);
}
std::string litres_of(double kilograms, ShownUnits units) {
  return units.imperial ? amount(kilograms / kLitresPerGallon) + " gal" : amount(kilograms) + " l";
}

std::string long_time(analysis::base::Micros duration) {
  const double hours = analysis::base::hours_from(duration);
  const double days = hours / kHoursPerDay;
  if (hours <= 72.0) {
    return fixed(std::ceil(hours), 0) + " h";
  }
  return days < 2.0 * kDaysPerYear ? fixed(std::ceil(days), 0) + " days"
                                   : fixed(days / kDaysPerYear, 0) + " years";
}

std::string percent_of(double share, int digits) { return fixed(100.0 * share, digits) + " %"; }

}  // namespace logger::app
