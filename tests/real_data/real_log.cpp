#include "tests/real_data/real_log.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <stdexcept>
#include <utility>

namespace real_data {
namespace {

using analysis::base::UtcMicros;

const std::string kFolder = "../shared/data/trh1/";
const std::string kHalfHeated = kFolder + "R1_indoor_10min.csv";
const std::string kWeather = kFolder + "R1_outdoor_fmi.csv";
const std::string kHeated = kFolder + "R4_indoor1_hourly.csv";
constexpr std::int64_t kHourMicros = 3'600'000'000;

// "2020-12-18 15:15:00,17.43,36.87".
RoomLog read_log(const std::string& file_name, const std::string& name, int rows_an_hour) {
  RoomLog log{name, rows_an_hour, {}};
  std::ifstream file(file_name);
  std::string row;
  std::getline(file, row);
  while (std::getline(file, row)) {
    const auto at =
        analysis::base::utc_from_rfc3339(row.substr(0, 10) + "T" + row.substr(11, 8) + "+02:00");
    if (!at) {
      throw std::runtime_error(file_name + ": " + row);
    }
    std::size_t comma = 0;
    const double celsius = std::stod(row.substr(20), &comma);
    log.rows.push_back({*at, celsius, std::stod(row.substr(20 + comma + 1))});
  }
  return log;
}

std::vector<std::pair<std::string, std::string>>& figures() {
  static std::vector<std::pair<std::string, std::string>> all;
  return all;
}

bool& asked() {
  static bool value = false;
  return value;
}

}  // namespace

void ask_for_figures() { asked() = true; }
bool figures_asked() { return asked(); }

bool all_logs_exist() {
  const auto exists = [](const std::string& file) { return std::filesystem::exists(file); };
  return exists(kHalfHeated) && exists(kWeather) && exists(kHeated);
}

const RoomLog& half_heated_house() {
  static const RoomLog log = read_log(kHalfHeated, "half-heated", 6);
  return log;
}

const RoomLog& weather_of_half_heated_house() {
  static const RoomLog log = read_log(kWeather, "weather", 6);
  return log;
}

const RoomLog& heated_house() {
  static const RoomLog log = read_log(kHeated, "heated", 1);
  return log;
}

std::int64_t day_of(UtcMicros at) { return (at.value + 2 * kHourMicros) / (24 * kHourMicros); }

std::vector<Day> daily_means(const RoomLog& log) {
  const auto rows_a_day = static_cast<std::ptrdiff_t>(24 * log.rows_an_hour);
  std::vector<Day> days;
  for (auto first = log.rows.begin(); first != log.rows.end();) {
    const std::int64_t day = day_of(first->at);
    const auto end = std::find_if(first, log.rows.end(),
                                  [day](const LogRow& row) { return day_of(row.at) != day; });
    Day mean{day, 0.0, 0.0};
    for (auto row = first; row != end; ++row) {
      mean.mean_celsius += row->celsius / static_cast<double>(rows_a_day);
      mean.mean_percent_rh += row->percent_rh / static_cast<double>(rows_a_day);
    }
    if (end - first == rows_a_day) {
      days.push_back(mean);
    }
    first = end;
  }
  return days;
}

double quantile(std::vector<double> values, double share) {
  const auto last = static_cast<double>(values.size() - 1);
  const auto place = values.begin() + static_cast<std::ptrdiff_t>(std::lround(share * last));
  std::nth_element(values.begin(), place, values.end());
  return *place;
}

void note_figure(const std::string& what, const std::string& value) {
  figures().emplace_back(what, value);
}

void print_figures() {
  for (const auto& [what, value] : figures()) {
    std::printf("%s: %s\n", what.c_str(), value.c_str());
  }
}

std::string text_of(double value, int decimals) {
  char text[64];
  std::snprintf(text, sizeof text, "%.*f", decimals, value);
  return text;
}

std::string spread_text(const std::vector<double>& values, int decimals) {
  return "10 % " + text_of(quantile(values, 0.1), decimals) + ", median " +
         text_of(quantile(values, 0.5), decimals) + ", 90 % " +
         text_of(quantile(values, 0.9), decimals);
}

}  // namespace real_data
