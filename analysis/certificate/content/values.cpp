#include "analysis/certificate/content/values.hpp"

#include "analysis/drawing/axis.hpp"
#include "analysis/readiness/reason_texts.hpp"

namespace analysis::certificate {
namespace {

// Source: NIST Special Publication 811 (2008), appendix B.8: 1 ft = 0.3048 m exactly.
constexpr double kMetresPerFoot = 0.3048;

bool is_temperature(base::ChannelRole role) { return base::file_unit_of(role) == "celsius"; }

}  // namespace

std::string temperature_number(base::Celsius value, Units units) {
  return drawing::number_text(
      units == Units::metric ? value.value() : base::fahrenheit_from_celsius(value), 1);
}

std::string temperature_text(base::Celsius value, Units units) {
  return temperature_number(value, units) + (units == Units::metric ? " °C" : " °F");
}

std::string delta_text(base::KelvinDelta value, Units units) {
  return units == Units::metric ? drawing::number_text(value.value(), 1) + " K"
                                : drawing::number_text(value.value() * 1.8, 1) + " °F";
}

std::string rh_number(base::RelativeHumidity value) {
  return drawing::number_text(base::percent_from_rh(value), 1);
}

std::string rh_text(base::RelativeHumidity value) { return rh_number(value) + " %RH"; }

std::string share_text(double fraction) { return drawing::number_text(fraction * 100.0, 1) + " %"; }

std::string small_length_text(base::Metres value, Units units) {
  return readiness::text_from_small_length(value, units == Units::imperial);
}

std::string area_text(base::SquareMetres value, Units units) {
  return units == Units::metric
             ? drawing::number_text(value.value(), 1) + " m²"
             : drawing::number_text(value.value() / (kMetresPerFoot * kMetresPerFoot), 0) + " ft²";
}

std::string moment_text(base::UtcMicros at) {
  const std::string text = base::rfc3339_from_utc(at);
  const std::size_t t = text.find('T');
  return text.substr(0, t) + " " + text.substr(t + 1, 5);
}

std::string duration_text(base::Micros duration) {
  const std::string text = base::text_from_duration(duration);
  const std::size_t zero = text.rfind(" 0 ");
  return zero == std::string::npos ? text : text.substr(0, zero);
}

double shown_value(double file_unit_value, base::ChannelRole role, Units units) {
  return units == Units::imperial && is_temperature(role)
             ? base::fahrenheit_from_celsius(base::Celsius{file_unit_value})
             : file_unit_value;
}

std::string role_unit(base::ChannelRole role, Units units) {
  if (is_temperature(role)) {
    return units == Units::metric ? "°C" : "°F";
  }
  return base::file_unit_of(role) == "percent_rh" ? "%RH" : "V";
}

std::string role_value_text(double value, base::ChannelRole role, Units units) {
  return drawing::number_text(shown_value(value, role, units), 1) + " " + role_unit(role, units);
}

}  // namespace analysis::certificate
