// Values of the certificate as text in the units a reader asked for. Internal to the pages.
#pragma once

#include <string>

#include "analysis/base/record.hpp"
#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"
#include "analysis/certificate/pages.hpp"

namespace analysis::certificate {

[[nodiscard]] std::string temperature_text(base::Celsius value, Units units);    // "21.3 °C"
[[nodiscard]] std::string temperature_number(base::Celsius value, Units units);  // "21.3"
[[nodiscard]] std::string delta_text(base::KelvinDelta value, Units units);      // "1.0 K"
[[nodiscard]] std::string rh_text(base::RelativeHumidity value);                 // "52.1 %RH"
[[nodiscard]] std::string rh_number(base::RelativeHumidity value);               // "52.1"
[[nodiscard]] std::string share_text(double fraction);                           // "10.0 %"
[[nodiscard]] std::string area_text(base::SquareMetres value, Units units);      // "18.5 m²"
[[nodiscard]] std::string small_length_text(base::Metres value, Units units);    // "9.5 mm"
[[nodiscard]] std::string moment_text(base::UtcMicros at);  // "2026-11-18 09:10"
// "48 h", "1 h 18 min", "60 d": as text_from_duration, without a last part that is zero.
[[nodiscard]] std::string duration_text(base::Micros duration);

// A value in the file unit of its role, with its unit.
[[nodiscard]] std::string role_value_text(double value, base::ChannelRole role, Units units);
// The unit printed for a role, and a value of its file unit in that unit.
[[nodiscard]] std::string role_unit(base::ChannelRole role, Units units);
[[nodiscard]] double shown_value(double file_unit_value, base::ChannelRole role, Units units);

}  // namespace analysis::certificate
