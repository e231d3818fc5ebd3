// Values as text in the units a reader asked for: outlook, hand-over, records of a laying.
#pragma once

#include <string>

#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"

namespace logger::app {

struct ShownUnits {
  bool imperial = false;
};

[[nodiscard]] double shown_celsius(double celsius, ShownUnits units);
[[nodiscard]] std::string temperature_unit(ShownUnits units);
[[nodiscard]] std::string text_of(analysis::base::Celsius value, ShownUnits units);  // "20.1 °C"
[[nodiscard]] std::string text_of(analysis::base::KelvinDelta value, ShownUnits units);  // "0.5 K"
[[nodiscard]] std::string text_of(analysis::base::RelativeHumidity value);  // "52.3 %RH"
[[nodiscard]] std::string short_length(analysis::base::Metres value, ShownUnits units);  // "9.5 mm"
[[nodiscard]] std::string long_length(analysis::base::Metres value, ShownUnits units);   // "6.1 m"
// Of a length that is needed, rounded up; of one that is allowed, rounded down.
[[nodiscard]] std::string needed_length(analysis::base::Metres value, ShownUnits units);
[[nodiscard]] std::string allowed_length(analysis::base::Metres value, ShownUnits units);
[[nodiscard]] std::string litres_of(double kilograms, ShownUnits units);  // "0.35 l"
// Whole hours rounded up, then days, then years: "5 h", "40 days", "12 years".
[[nodiscard]] std::string long_time(analysis::base::Micros duration);
[[nodiscard]] std::string percent_of(double share, int digits = 1);  // "9.6 %"

}  // namespace logger::app
