// CSV files become records exactly as declared, or nothing of them does.
#include "logger/ingest/csv_import.hpp"

#include <catch2/catch.hpp>

using analysis::base::ChannelStatus;
using analysis::base::Micros;
using analysis::base::RecordId;
using analysis::base::UtcMicros;
using logger::ingest::CsvDeclaration;
using logger::ingest::CsvUnit;
using logger::ingest::records_from_csv;

namespace {

CsvDeclaration declaration() {
  CsvDeclaration d;
  d.file = "room.csv";
  d.time_column = "time";
  d.time_format = "%Y-%m-%d %H:%M:%S";
  d.channels = {{0, "T", CsvUnit::celsius, 0.01}, {1, "RH", CsvUnit::percent_rh, 0.01}};
  return d;
}

std::string complaint_of(std::string_view text, const CsvDeclaration& d = declaration()) {
  const auto import = records_from_csv(text, d);
  if (import) {
    return "";
  }
  CHECK(import.error().code == logger::store::ErrorCode::invalid_input);
  return import.error().context;
}

logger::ingest::CsvImport imported(std::string_view text, const CsvDeclaration& d = declaration()) {
  const auto import = records_from_csv(text, d);
  if (!import) {
    FAIL(import.error().context);
  }
  return import.value();
}

// 2024-01-01T00:00:00Z.
constexpr std::int64_t kNewYearMs = 1'704'067'200'000;

}  // namespace

TEST_CASE("a row becomes a record of boot 0 with its UTC milliseconds as sequence and ticks") {
  const auto import = imported("time,T,RH\n2024-01-01 00:00:00,-12.34,56.78\n");
  REQUIRE(import.records.size() == 1);
  const auto& record = import.records[0];
  CHECK(record.id == RecordId{0, kNewYearMs});
  CHECK(record.ticks_ms == kNewYearMs);
  CHECK(record.flags == 0);
  CHECK(record.raw_counts[0] == -1234);
  CHECK(record.raw_counts[1] == 5678);
  CHECK(record.statuses[0] == ChannelStatus::ok);
  CHECK(record.statuses[1] == ChannelStatus::ok);
  CHECK(record.statuses[2] == ChannelStatus::not_fitted);
  CHECK(import.channels[0].off_grid_values == 0);
  CHECK(import.channels[0].lowest == -12.34);
}

TEST_CASE("byte order mark, CRLF, quotes, semicolons, decimal commas and spare columns are read") {
  CsvDeclaration d = declaration();
  d.separator = ';';
  d.decimal = ',';
  d.zone_offset = std::chrono::hours(1);
  const auto import = imported(
      "\xef\xbb\xbf"
      "RH;\"note; free\";time;T\r\n"
      "45,5;\"he said \"\"dry\"\"\";2024-01-01 01:00:00;20,25\r\n",
      d);
  REQUIRE(import.records.size() == 1);
  CHECK(import.records[0].id.sequence == kNewYearMs);
  CHECK(import.records[0].raw_counts[0] == 2025);
  CHECK(import.records[0].raw_counts[1] == 4550);
  CHECK(import.ignored_columns == std::vector<std::string>{"note; free"});
}

TEST_CASE("fahrenheit and fractions are converted once, here") {
  CsvDeclaration d = declaration();
  d.channels = {{2, "T", CsvUnit::fahrenheit, 0.01},
                {3, "RH", CsvUnit::rh_fraction, 0.01},
                {4, "U", CsvUnit::volt, 0.001}};
  const auto import = imported(
      "time,T,RH,U\n2024-01-01 00:00:00,32,0.455,3.3\n2024-01-01 00:01:00,-40,1,0\n"
      "2024-01-01 00:02:00,98.6,0,12\n2024-01-01 00:03:00,70,0.5,5\n",
      d);
  // By definition 32 F = 0 C, -40 F = -40 C, 98.6 F = 37 C; 70 F = 21.111 C is off the grid.
  CHECK(import.records[0].raw_counts[2] == 0);
  CHECK(import.records[1].raw_counts[2] == -4000);
  CHECK(import.records[2].raw_counts[2] == 3700);
  CHECK(import.records[3].raw_counts[2] == 2111);
  CHECK(import.channels[0].off_grid_values == 1);
  CHECK(import.records[0].raw_counts[3] == 4550);
  CHECK(import.records[1].raw_counts[3] == 10000);
  CHECK(import.records[0].raw_counts[4] == 3300);
  CHECK(import.channels[1].highest == 100.0);
}

TEST_CASE("an empty cell is a sensor that did not answer") {
  const auto import = imported("time,T,RH\n2024-01-01 00:00:00,,50\n");
  CHECK(import.records[0].statuses[0] == ChannelStatus::no_answer);
  CHECK(import.records[0].statuses[1] == ChannelStatus::ok);
  CHECK(import.channels[0].empty_cells == 1);
  CHECK(import.channels[0].values == 0);
}

TEST_CASE("values between two counts are rounded to the nearest and counted") {
  CsvDeclaration d = declaration();
  d.channels[0].units_per_count = 0.1;
  const auto import = imported(
      "time,T,RH\n2024-01-01 00:00:00,20.16,50\n2024-01-01 00:01:00,-0.06,50\n"
      "2024-01-01 00:02:00,20.3,50\n",
      d);
  CHECK(import.records[0].raw_counts[0] == 202);
  CHECK(import.records[1].raw_counts[0] == -1);
  CHECK(import.records[2].raw_counts[0] == 203);
  CHECK(import.channels[0].off_grid_values == 2);
}

TEST_CASE("rows out of order are sorted and counted, repeats counted, conflicts named") {
  const auto import = imported(
      "time,T,RH\n2024-01-01 00:02:00,20,50\n2024-01-01 00:00:00,21,50\n"
      "2024-01-01 00:02:00,20.00,50.0\n2024-01-01 00:02:00,20.01,50\n2024-01-01 00:01:00,,\n");
  REQUIRE(import.records.size() == 3);
  CHECK(import.records[0].id.sequence == kNewYearMs);
  CHECK(import.records[2].raw_counts[0] == 2000);
  CHECK(import.rows == 5);
  CHECK(import.backward_rows == 2);
  CHECK(import.repeated_rows == 1);
  REQUIRE(import.conflicts.size() == 1);
  CHECK(import.conflicts[0].line == 5);
  CHECK(import.conflicts[0].kept_line == 2);
  CHECK(import.conflicts[0].at == UtcMicros{(kNewYearMs + 120'000) * 1000});
}

TEST_CASE("importing the same text twice gives the same records") {
  const std::string_view text = "time,T,RH\n2024-01-01 00:00:00,20,50\n2024-01-01 00:01:00,20,51\n";
  CHECK(imported(text).records == imported(text).records);
}

TEST_CASE("a wrong value refuses the file with line, column, value and what was expected") {
  const std::string head = "time,T,RH\n2024-01-01 00:00:00,20,50\n";
  CHECK(complaint_of(head + "2024-01-01 00:01:00,warm,50\n") ==
        "room.csv:3: column \"T\": \"warm\" is no number, expected celsius with the decimal mark "
        "\".\"");
  CHECK(complaint_of(head + "2024-01-01 00:01:00,20,100.01\n") ==
        "room.csv:3: column \"RH\": \"100.01\" is outside 0..100 percent_rh");
  CHECK(complaint_of(head + "2024-01-01 00:01:00,20,-0.01\n") ==
        "room.csv:3: column \"RH\": \"-0.01\" is outside 0..100 percent_rh");
  CHECK(complaint_of(head + "2024-01-01 00:01:00,-273.16,50\n") ==
        "room.csv:3: column \"T\": \"-273.16\" is below absolute zero in celsius");
  CHECK(complaint_of(head + "01.01.2024,20,50\n") ==
        "room.csv:3: column \"time\": \"01.01.2024\" is no time, expected %Y-%m-%d %H:%M:%S");
  CHECK(complaint_of(head + "2024-01-01 00:01:00,20\n") ==
        "room.csv:3: the row has 2 cells, the header line has 3");
  CHECK(complaint_of(head + "\n") == "room.csv:3: the row has 1 cells, the header line has 3");
  CHECK(complaint_of(head + "# remark\n") ==
        "room.csv:3: the row has 1 cells, the header line has 3");
  CHECK(complaint_of(head + "2024-01-01 00:01:00,1e9,50\n") ==
        "room.csv:3: column \"T\": \"1e9\" is too large for counts of 0.01");
  CHECK(complaint_of(head + "2024-01-01 00:01:00,\"2\n0\",50\n") ==
        "room.csv:3: column \"T\": \"2?0\" is no number, expected celsius with the decimal mark "
        "\".\"");
}

TEST_CASE("limits themselves are accepted") {
  const auto import =
      imported("time,T,RH\n2024-01-01 00:00:00,-273.15,0\n2024-01-01 00:01:00,125,100\n");
  CHECK(import.records[0].raw_counts[1] == 0);
  CHECK(import.records[1].raw_counts[1] == 10000);
}

TEST_CASE("relative humidity in the wrong unit is refused with a hint") {
  CHECK(complaint_of("time,T,RH\n2024-01-01 00:00:00,20,0.45\n2024-01-01 00:01:00,20,1\n") ==
        "room.csv: column \"RH\": no value of 2 is above 1, declared as percent_rh; is the unit "
        "rh_fraction?");
  CsvDeclaration d = declaration();
  d.channels[1].unit = CsvUnit::rh_fraction;
  CHECK(complaint_of("time,T,RH\n2024-01-01 00:00:00,20,45\n", d) ==
        "room.csv:2: column \"RH\": \"45\" is outside 0..1 rh_fraction; is the unit percent_rh?");
}

TEST_CASE("a header that does not hold what is declared is refused") {
  CHECK(complaint_of("") == "room.csv:1: the file is empty, expected a header line");
  CHECK(complaint_of("time,T,rh\n") ==
        "room.csv:1: column \"RH\" is missing; the file has \"time\", \"T\", \"rh\"");
  CHECK(complaint_of("time,T,RH,T\n") == "room.csv:1: column \"T\" is there twice");
  CHECK(complaint_of("zeit,T,RH\n").find("room.csv:1: column \"time\" is missing") == 0);
  CHECK(imported("time,T,RH\n").rows == 0);
}

TEST_CASE("a declaration that can't be used is refused") {
  CsvDeclaration d = declaration();
  d.separator = '.';
  CHECK(complaint_of("", d).find("room.csv: the separator can't be \".\"") == 0);
  d = declaration();
  d.decimal = ';';
  CHECK(complaint_of("", d) == "room.csv: the decimal mark has to be \".\" or \",\"");
  d = declaration();
  d.channels.clear();
  CHECK(complaint_of("", d) == "room.csv: no channel is declared");
  d = declaration();
  d.channels[1].index = 0;
  CHECK(complaint_of("", d) ==
        "room.csv: channel 0: its index or its column \"T\" is declared twice");
  d = declaration();
  d.channels[0].index = 8;
  CHECK(complaint_of("", d) == "room.csv: channel 8: the index has to be 0..7");
  d = declaration();
  d.channels[0].units_per_count = 0.0;
  CHECK(complaint_of("", d) == "room.csv: channel 0: units_per_count has to be above 0, is 0");
  d = declaration();
  d.time_format = "%Y-%m-%d";
  CHECK(complaint_of("", d) == "room.csv: time format \"%Y-%m-%d\": %H is missing");
}

TEST_CASE("names of units and offsets of zones") {
  CHECK(logger::ingest::csv_unit_from_name("rh_fraction") == CsvUnit::rh_fraction);
  CHECK_FALSE(logger::ingest::csv_unit_from_name("percent").has_value());
  using logger::ingest::zone_offset_from_text;
  CHECK(zone_offset_from_text("Z") == Micros{0});
  CHECK(zone_offset_from_text("+02:00") == std::chrono::hours(2));
  CHECK(zone_offset_from_text("-05:30") == -std::chrono::minutes(330));
  for (const char* const text : {"", "2", "+2:00", "+0200", "+24:00", ".5Z", "EET", "+02:00 "}) {
    CAPTURE(text);
    CHECK_FALSE(zone_offset_from_text(text).has_value());
  }
}

TEST_CASE("the clock exchanges of an import date its records as the file did") {
  std::string text = "time,T,RH\n";
  for (int day = 1; day <= 28; ++day) {
    for (int hour = 0; hour < 24; hour += day % 2 == 0 ? 1 : 5) {
      std::array<char, 64> row{};
      std::snprintf(row.data(), row.size(), "2024-02-%02d %02d:10:00,20,50\n", day, hour);
      text += row.data();
    }
  }
  const auto import = imported(text);
  const auto exchanges =
      logger::ingest::exchanges_for_import(import.records, logger::ingest::kDefaultImportTimeError);
  const analysis::base::ClockMap map(exchanges, UtcMicros{0});
  CHECK(map.steps().empty());
  for (const auto& record : import.records) {
    const auto dated = map.utc_from_ticks(record.ticks_ms);
    REQUIRE(dated.has_value());
    CHECK(dated->at == UtcMicros{record.ticks_ms * 1000});
    CHECK(dated->error <= std::chrono::milliseconds(1'500));
    CHECK(dated->error >= std::chrono::seconds(1));
  }
  CHECK(logger::ingest::exchanges_for_import({}, Micros{0}).empty());
}

TEST_CASE(
    "a value that the sensor can't measure and a time of no set clock are refused with their "
    "place") {
  CsvDeclaration d = declaration();
  d.channels[0].low = -40.0;
  d.channels[0].high = 80.0;
  CHECK(complaint_of("time,T,RH\n2024-01-01 00:00:00,80,50\n", d).empty());
  CHECK(
      complaint_of("time,T,RH\n2024-01-01 00:00:00,300.0,50\n", d) ==
      "room.csv:2: column \"T\": \"300.0\" stands for 300 °C; the channel's sensor measures -40 to "
      "80 °C");
  CHECK(complaint_of("time,T,RH\n1969-11-26 21:00:00,20,50\n")
            .starts_with("room.csv:2: column \"time\": \"1969-11-26 21:00:00\" is before 2000"));
}
