// Rows, numbers and times of CSV files.
#include "logger/ingest/csv_text.hpp"

#include <catch2/catch.hpp>

using analysis::base::Micros;
using analysis::base::utc_from_rfc3339;
using logger::ingest::CsvRow;
using logger::ingest::CsvRows;
using logger::ingest::number_from_cell;
using logger::ingest::TimeFormat;

namespace {

using Rows = std::vector<std::vector<std::string>>;

Rows rows_of(std::string_view text, char separator = ',') {
  CsvRows reader(text, separator);
  Rows rows;
  CsvRow row;
  while (true) {
    const auto more = reader.next(row);
    REQUIRE(more.has_value());
    if (!more.value()) {
      return rows;
    }
    rows.push_back(row.cells);
  }
}

// "LINE: what" of the first complaint.
std::string complaint_of(std::string_view text) {
  CsvRows reader(text, ',');
  CsvRow row;
  while (true) {
    const auto more = reader.next(row);
    if (!more) {
      return std::to_string(more.error().line) + ": " + more.error().what;
    }
    if (!more.value()) {
      return "";
    }
  }
}

std::string utc_text(std::string_view format, std::string_view text, Micros zone = Micros{0}) {
  const auto made = TimeFormat::from_text(format, zone);
  REQUIRE(made.has_value());
  const auto at = made.value().utc_from_text(text);
  return at ? analysis::base::rfc3339_from_utc(*at) : "none";
}

std::string format_complaint(std::string_view format, Micros zone = Micros{0}) {
  const auto made = TimeFormat::from_text(format, zone);
  return made ? "" : made.error();
}

}  // namespace

TEST_CASE("rows are split as RFC 4180 section 2 says") {
  CHECK(rows_of("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n") ==
        Rows{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}});
  CHECK(rows_of("aaa,bbb,ccc\r\nzzz,yyy,xxx") ==
        Rows{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}});
  CHECK(rows_of("\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx") ==
        Rows{{"aaa", "b\r\nbb", "ccc"}, {"zzz", "yyy", "xxx"}});
  CHECK(rows_of("\"aaa\",\"b\"\"bb\",\"ccc\"") == Rows{{"aaa", "b\"bb", "ccc"}});
}

TEST_CASE("line feeds alone, empty cells and other separators are read") {
  CHECK(rows_of("a;b,c\n1;2\n", ';') == Rows{{"a", "b,c"}, {"1", "2"}});
  CHECK(rows_of("a,\n,b\n") == Rows{{"a", ""}, {"", "b"}});
  CHECK(rows_of("\"\",x\n") == Rows{{"", "x"}});
  CHECK(rows_of("").empty());
  CHECK(rows_of("a\n\nb\n") == Rows{{"a"}, {""}, {"b"}});
}

TEST_CASE("broken quoting is told with its line") {
  CHECK(complaint_of("a,b\n1,\"2\n3,4\n") == "2: a quote is opened here and never closed");
  CHECK(complaint_of("a,b\n1,\"2\"x\n") == "2: more text after a closing quote");
  CHECK(complaint_of("a\n\"x\ny\"\nb\"c\n") ==
        "4: a quote inside a cell that does not begin with one");
  CHECK(complaint_of("a\rb\n") == "1: a carriage return that no line feed follows");
}

TEST_CASE("numbers are plain decimals with the declared mark") {
  CHECK(number_from_cell("-12.50", '.') == -12.5);
  CHECK(number_from_cell("0", '.') == 0.0);
  CHECK(number_from_cell("1e-3", '.') == 0.001);
  CHECK(number_from_cell("21,5", ',') == 21.5);
  for (const char* const text : {"", " 1", "1 ", "+1", "1.2.3", "nan", "inf", "0x10", "1,5",
                                 "1e999", "--1", "-", ".", "1.5C"}) {
    CAPTURE(text);
    CHECK_FALSE(number_from_cell(text, '.').has_value());
  }
  CHECK_FALSE(number_from_cell("1.234,5", ',').has_value());
  CHECK_FALSE(number_from_cell("21.5", ',').has_value());
}

TEST_CASE("local times become UTC by the declared offset") {
  const Micros two_hours = std::chrono::hours(2);
  CHECK(utc_text("%Y-%m-%d %H:%M:%S", "2020-12-18 15:15:00", two_hours) == "2020-12-18T13:15:00Z");
  CHECK(utc_text("%Y-%m-%d %H:%M:%S", "2021-01-01 01:00:00", two_hours) == "2020-12-31T23:00:00Z");
  CHECK(utc_text("%d.%m.%Y %H:%M", "01.03.2024 00:30", -std::chrono::minutes(330)) ==
        "2024-03-01T06:00:00Z");
  CHECK(utc_text("%m/%d/%Y %H:%M:%S", "2/29/2024 7:05:09") == "2024-02-29T07:05:09Z");
  CHECK(utc_text("%Y%m%d%H%M%S", "20240229070509") == "2024-02-29T07:05:09Z");
  CHECK(utc_text("rfc3339", "2020-12-18T15:15:00.25+02:00") == "2020-12-18T13:15:00.250Z");
}

TEST_CASE("times that are not as declared are refused") {
  for (const char* const text :
       {"2020-12-18 15:15", "2020-12-18 15:15:00 ", "2020-12-18T15:15:00", "2020-02-30 00:00:00",
        "2021-02-29 00:00:00", "2020-12-18 24:00:00", "2020-12-18 15:60:00", "20-12-18 15:15:00",
        "", "2020-12-18 15:15:00Z", "2020-12-018 15:15:00", "2020-13-01 00:00:00"}) {
    CAPTURE(text);
    CHECK(utc_text("%Y-%m-%d %H:%M:%S", text) == "none");
  }
  // One digit beside another directive could be read two ways.
  CHECK(utc_text("%Y%m%d %H:%M", "2021115 10:00") == "none");
  CHECK(utc_text("%Y%m%d %H:%M", "202111 10:00") == "none");
  CHECK(utc_text("rfc3339", "2020-12-18 15:15:00") == "none");
}

TEST_CASE("a time format that can't be used is refused with the reason") {
  CHECK(format_complaint("%Y-%m-%d %H:%M:%S").empty());
  CHECK(format_complaint("%Y-%m-%d").find("%H is missing") == 0);
  CHECK(format_complaint("%Y-%m-%d %H:%M:%M").find("\"%M\" is unknown or repeated") == 0);
  CHECK(format_complaint("%y-%m-%d %H:%M").find("\"%y\" is unknown") == 0);
  CHECK(format_complaint("%Y-%m-%d %H:%M%").find("\"%\" is unknown") == 0);
  CHECK(format_complaint("rfc3339", std::chrono::hours(1)).find("rfc3339 carries its own") == 0);
}
