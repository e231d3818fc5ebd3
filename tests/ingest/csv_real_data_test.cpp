// The real indoor logs of ../shared/data/trh1 (CC BY 4.0), where they are there; else exit code 77.
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "logger/ingest/csv_import.hpp"
#include "tests/catch_session.hpp"

using analysis::base::utc_from_rfc3339;
using logger::ingest::CsvDeclaration;
using logger::ingest::CsvImport;
using logger::ingest::CsvUnit;

namespace {

const std::string kFolder = "../shared/data/trh1";

CsvImport imported(const std::string& name) {
  std::ifstream file(kFolder + "/" + name, std::ios::binary);
  REQUIRE(file.good());
  const std::string text{std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
  CsvDeclaration d;
  d.file = name;
  d.time_column = "t_UTC+2";
  d.time_format = "%Y-%m-%d %H:%M:%S";
  d.zone_offset = std::chrono::hours(2);
  d.channels = {{0, "T", CsvUnit::celsius, 0.01}, {1, "RH", CsvUnit::percent_rh, 0.01}};
  auto import = logger::ingest::records_from_csv(text, d);
  if (!import) {
    FAIL(import.error().context);
  }
  return std::move(import).value();
}

void check_row(const CsvImport& import, std::size_t index, const char* utc, int t, int rh) {
  const auto& record = import.records[index];
  CHECK(record.ticks_ms * 1000 == utc_from_rfc3339(utc)->value);
  CHECK(record.raw_counts[0] == t);
  CHECK(record.raw_counts[1] == rh);
}

void check_clean(const CsvImport& import) {
  CHECK(import.records.size() == import.rows);
  CHECK(import.repeated_rows == 0);
  CHECK(import.conflicts.empty());
  CHECK(import.backward_rows == 0);
  CHECK(import.ignored_columns.empty());
  for (const auto& channel : import.channels) {
    CHECK(channel.values == import.rows);
    CHECK(channel.off_grid_values == 0);
  }
}

}  // namespace

// Rows copied by hand from the files; least and greatest values from an independent count in
// Python.
TEST_CASE("the 10-minute log of a house under renovation") {
  const CsvImport import = imported("R1_indoor_10min.csv");
  CHECK(import.rows == 21'365);
  check_clean(import);
  check_row(import, 0, "2020-12-18T13:15:00Z", 1743, 3687);
  check_row(import, 1, "2020-12-18T13:25:00Z", 1204, 5344);
  check_row(import, 21'364, "2021-05-15T21:55:00Z", 2024, 5365);
  CHECK(import.channels[0].lowest == 6.21);
  CHECK(import.channels[0].highest == 25.3);
  CHECK(import.channels[1].lowest == 12.17);
  CHECK(import.channels[1].highest == 76.62);
}

TEST_CASE("the hourly log") {
  const CsvImport import = imported("R4_indoor1_hourly.csv");
  CHECK(import.rows == 14'449);
  check_clean(import);
  check_row(import, 0, "2010-11-14T22:00:00Z", 2230, 3875);
  check_row(import, 14'448, "2012-07-08T22:00:00Z", 2530, 5900);
  CHECK(import.channels[0].lowest == 19.5);
  CHECK(import.channels[0].highest == 27.65);
  CHECK(import.channels[1].lowest == 15.6);
  CHECK(import.channels[1].highest == 68.75);
}

int main(int argc, char* argv[]) {
  if (!std::filesystem::exists(kFolder)) {
    return 77;
  }
  return run_tests(argc, argv);
}
