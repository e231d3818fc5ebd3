// A year of one box with six channels at five minutes in a store, and what reading its rows costs,
// for benchmarks that compare with it. Deterministic.
#pragma once

#include <algorithm>
#include <cstdint>
#include <string>
#include <vector>

namespace benchmarks {

inline constexpr std::int64_t kYearRecords = 365 * 288;

// Makes a new store, marked as simulated, of the box "box-1"; records_per_commit with a clock
// exchange a record. REQUIRES: there is no file at `path`.
void make_year_store(const std::string& path, std::int64_t records_per_commit = 10'000);

// Every column of every record's row, as SQLite hands it out.
[[nodiscard]] double seconds_of_reading_rows(const std::string& path);

// REQUIRES: not empty.
[[nodiscard]] inline double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

}  // namespace benchmarks
