// A weather record from a CSV file: rows in time, linear between them. A site that lasts beyond its
// record is an error of check_covers; within a step of the end the last row holds. Thread-safe.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"

namespace firmware::sim::site {

struct WeatherRow {
  analysis::base::UtcMicros at;
  analysis::base::Celsius temperature;
  analysis::base::RelativeHumidity rh;
};

// Increasing in time; two rows or more.
using WeatherRecord = std::vector<WeatherRow>;

// First line `time_utc,temperature_celsius,rh_percent`, then rows: RFC 3339, -60..60 deg C,
// 0..100 %RH. `name` is for the error, one line: name, line, value, what was expected.
[[nodiscard]] analysis::base::Result<WeatherRecord, std::string> weather_from_csv(
    std::string_view text, std::string_view name);
[[nodiscard]] analysis::base::Result<WeatherRecord, std::string> weather_from_file(
    const std::string& path);
// Fails where the record begins after `range` or ends before it.
[[nodiscard]] analysis::base::Result<void, std::string> check_covers(
    const WeatherRecord& record, analysis::base::TimeRange range, std::string_view name);
// Linear between the rows around `at`; the first or last row outside. REQUIRES: record not empty.
[[nodiscard]] WeatherRow weather_at(const WeatherRecord& record, analysis::base::UtcMicros at);

}  // namespace firmware::sim::site
