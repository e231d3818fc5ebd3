// Climate logs of two real houses, and what the tests of them share. The files lie in
// ../shared/data/trh1 beside the project ("TRH-database", CC BY 4.0; weather of the Finnish
// Meteorological Institute, CC BY 4.0) and are no part of it. Times in them are at +02:00 all year.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"

namespace real_data {

struct LogRow {
  analysis::base::UtcMicros at;
  double celsius = 0.0;
  double percent_rh = 0.0;

  [[nodiscard]] analysis::base::Celsius temperature() const {
    return analysis::base::Celsius{celsius};
  }
  [[nodiscard]] analysis::base::RelativeHumidity rh() const {
    return analysis::base::rh_from_percent(percent_rh);
  }
};

struct RoomLog {
  std::string name;
  int rows_an_hour = 1;
  std::vector<LogRow> rows;  // evenly spaced, without a gap
};

[[nodiscard]] bool all_logs_exist();
// A half-heated house under renovation, every 10 minutes from December to May; the weather at a
// station near it at the same instants; and a heated house, hourly over 20 months. Read once.
[[nodiscard]] const RoomLog& half_heated_house();
[[nodiscard]] const RoomLog& weather_of_half_heated_house();
[[nodiscard]] const RoomLog& heated_house();

// Whole days at +02:00, counted from 1970-01-01.
[[nodiscard]] std::int64_t day_of(analysis::base::UtcMicros at);

struct Day {
  std::int64_t day = 0;
  double mean_celsius = 0.0;
  double mean_percent_rh = 0.0;
};
// Days of which every reading is there.
[[nodiscard]] std::vector<Day> daily_means(const RoomLog& log);

// The value that `share` of the values do not exceed. REQUIRES: not empty.
[[nodiscard]] double quantile(std::vector<double> values, double share);

// Figures for docs/physics-and-sources.md: collected by the tests, printed with --figures. Only
// then do slow tests go through the whole log instead of parts of it.
void ask_for_figures();
[[nodiscard]] bool figures_asked();
void note_figure(const std::string& what, const std::string& value);
void print_figures();
[[nodiscard]] std::string text_of(double value, int decimals = 2);
// "10 % 1.20, median 2.30, 90 % 3.40".
[[nodiscard]] std::string spread_text(const std::vector<double>& values, int decimals = 2);

}  // namespace real_data
