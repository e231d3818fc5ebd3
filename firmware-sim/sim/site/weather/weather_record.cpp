#include "firmware-sim/sim/site/weather/weather_record.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <fstream>
#include <optional>
#include <sstream>
#include <utility>

namespace firmware::sim::site {
namespace {

using analysis::base::Celsius;
using analysis::base::Failure;
using analysis::base::RelativeHumidity;
using analysis::base::Result;
using analysis::base::UtcMicros;

constexpr std::string_view kHeading = "time_utc,temperature_celsius,rh_percent";

std::string fault_at(std::string_view name, std::size_t line, const std::string& what) {
  return std::string(name) + " line " + std::to_string(line) + ": " + what;
}

std::optional<double> number_within(std::string_view text, double low, double high) {
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  const bool whole = error == std::errc{} && end == text.data() + text.size();
  return whole && value >= low && value <= high ? std::optional(value) : std::nullopt;
}

// nullopt unless there are three.
std::optional<std::array<std::string_view, 3>> fields_of(std::string_view line) {
  const std::size_t first = line.find(',');
  const std::size_t second = first == line.npos ? line.npos : line.find(',', first + 1);
  if (second == line.npos || line.find(',', second + 1) != line.npos) {
    return std::nullopt;
  }
  return std::array{line.substr(0, first), line.substr(first + 1, second - first - 1),
                    line.substr(second + 1)};
}

Result<WeatherRow, std::string> row_from(std::string_view line) {
  const auto fields = fields_of(line);
  if (!fields) {
    return Failure{"'" + std::string(line) + "'; expected " + std::string(kHeading)};
  }
  const auto [time, celsius, percent] = *fields;
  const auto at = analysis::base::utc_from_rfc3339(time);
  if (!at) {
    return Failure{"time_utc '" + std::string(time) + "'; expected like 2026-03-02T07:00:00Z"};
  }
  const auto temperature = number_within(celsius, -60.0, 60.0);
  if (!temperature) {
    return Failure{"temperature_celsius '" + std::string(celsius) + "'; expected -60 to 60 degC"};
  }
  const auto rh = number_within(percent, 0.0, 100.0);
  if (!rh) {
    return Failure{"rh_percent '" + std::string(percent) + "'; expected 0 to 100 %RH"};
  }
  return WeatherRow{*at, Celsius{*temperature}, analysis::base::rh_from_percent(*rh)};
}

std::string_view next_line(std::string_view& rest) {
  const std::size_t end = rest.find('\n');
  std::string_view line = rest.substr(0, end);
  rest.remove_prefix(end == rest.npos ? rest.size() : end + 1);
  if (!line.empty() && line.back() == '\r') {
    line.remove_suffix(1);
  }
  return line;
}

}  // namespace

Result<WeatherRecord, std::string> weather_from_csv(std::string_view text, std::string_view name) {
  if (const std::string_view heading = next_line(text); heading != kHeading) {
    return Failure{fault_at(
        name, 1,
        "'" + std::string(heading.substr(0, 80)) + "'; expected " + std::string(kHeading))};
  }
  WeatherRecord record;
  for (std::size_t number = 2; !text.empty(); ++number) {
    auto row = row_from(next_line(text));
    if (!row) {
      return Failure{fault_at(name, number, row.error())};
    }
    if (!record.empty() && row.value().at <= record.back().at) {
      return Failure{fault_at(name, number,
                              "time_utc " + rfc3339_from_utc(row.value().at) + "; expected after " +
                                  rfc3339_from_utc(record.back().at))};
    }
    record.push_back(row.value());
  }
  if (record.size() < 2) {
    return Failure{std::string(name) + ": " + std::to_string(record.size()) +
                   " rows of weather; expected 2 or more"};
  }
  return record;
}

Result<WeatherRecord, std::string> weather_from_file(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  std::ostringstream text;
  if (!file || !(text << file.rdbuf())) {
    return Failure{path + ": could not be read; expected a weather file with " +
                   std::string(kHeading)};
  }
  return weather_from_csv(text.str(), path);
}

Result<void, std::string> check_covers(const WeatherRecord& record, analysis::base::TimeRange range,
                                       std::string_view name) {
  if (record.empty() || record.front().at > range.from || record.back().at < range.to) {
    const std::string covered = record.empty() ? std::string("nothing")
                                               : rfc3339_from_utc(record.front().at) + " to " +
                                                     rfc3339_from_utc(record.back().at);
    return Failure{std::string(name) + ": covers " + covered + "; expected " +
                   rfc3339_from_utc(range.from) + " to " + rfc3339_from_utc(range.to)};
  }
  return {};
}

WeatherRow weather_at(const WeatherRecord& record, UtcMicros at) {
  const auto after =
      std::lower_bound(record.begin(), record.end(), at,
                       [](const WeatherRow& row, UtcMicros time) { return row.at < time; });
  if (after == record.begin() || after == record.end()) {
    return after == record.begin() ? record.front() : record.back();
  }
  const WeatherRow& a = *(after - 1);
  const WeatherRow& b = *after;
  const double share =
      static_cast<double>((at - a.at).count()) / static_cast<double>((b.at - a.at).count());
  const auto between = [share](auto x, auto y) {
    return decltype(x){x.value() * (1.0 - share) + y.value() * share};
  };
  return {at, between(a.temperature, b.temperature), between(a.rh, b.rh)};
}

}  // namespace firmware::sim::site
