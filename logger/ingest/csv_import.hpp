// Records from a CSV file of another logger, read strictly as declared: nothing is guessed, and one
// wrong value refuses the whole file. Pure text work; any thread. Writes no store.
// RFC 4180 quoting, lines ended by LF or CRLF, a UTF-8 byte order mark is accepted; no comment
// lines.
#pragma once

#include <cstddef>
#include <cstdint>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/base/clock_map.hpp"
#include "analysis/base/record.hpp"
#include "logger/store/error.hpp"

namespace logger::ingest {

enum class CsvUnit : std::uint8_t { celsius, fahrenheit, percent_rh, rh_fraction, volt };
// "celsius" and the like; nullopt for an unknown name.
[[nodiscard]] std::optional<CsvUnit> csv_unit_from_name(std::string_view name);

// Offset of local time, positive = east of Greenwich, from "Z", "+02:00" or "-05:30".
[[nodiscard]] std::optional<analysis::base::Micros> zone_offset_from_text(std::string_view text);

struct CsvChannel {
  int index = 0;       // position in the record, 0..7
  std::string column;  // its name in the header line, exactly
  CsvUnit unit = CsvUnit::celsius;
  double units_per_count = 0.01;  // celsius, percent_rh or volt per count, after conversion
  // What the sensor can measure, in the same unit; a value outside refuses the file.
  double low = -std::numeric_limits<double>::infinity();
  double high = std::numeric_limits<double>::infinity();
};

struct CsvDeclaration {
  std::string file;  // for messages
  std::string time_column;
  // "rfc3339", or text with %Y %m %d %H %M (and %S, else the second is 0), each once. Digits are
  // exactly 4 for %Y and 2 for the others; one digit will do where no digit or directive is beside
  // it.
  std::string time_format;
  analysis::base::Micros zone_offset{0};  // local time minus UTC; not used with rfc3339
  char separator = ',';
  char decimal = '.';
  std::vector<CsvChannel> channels;
};

struct CsvConflict {
  std::size_t line = 0;       // of the row that was left out
  std::size_t kept_line = 0;  // of the earlier row with the same time and other values
  analysis::base::UtcMicros at;
};

struct CsvChannelSummary {
  int index = 0;
  std::size_t values = 0;
  std::size_t empty_cells = 0;      // imported with the status no_answer
  std::size_t off_grid_values = 0;  // not a whole number of counts: rounded to the nearest
  std::string_view unit;            // of these, for people
  double lowest = 0.0;              // celsius, percent_rh or volt; meaningless without values
  double highest = 0.0;
};

struct CsvImport {
  // Increasing in time, one for each time stamp: boot 0, sequence and ticks = UTC in milliseconds
  // (rounded down). Channels that are not declared have the status not_fitted.
  std::vector<analysis::base::Record> records;
  std::size_t rows = 0;                // data rows of the file
  std::size_t repeated_rows = 0;       // same time, same values: left out
  std::vector<CsvConflict> conflicts;  // same time, other values: the first row is kept
  std::size_t backward_rows = 0;       // rows earlier than the row before them; sorted
  std::vector<std::string> ignored_columns;
  std::vector<CsvChannelSummary> channels;  // as declared
};

// Errors, each with file, line, column, value and what was expected: invalid_input (a declaration
// that can't be used, a declared column missing or named twice, a row with too few or too many
// cells, a value that is no number, RH outside 0..100 %, a temperature below absolute zero, RH
// values that are all 1 or less though percent is declared, a time that is not as declared, an open
// quote). O(n log n).
[[nodiscard]] store::Result<CsvImport> records_from_csv(std::string_view text,
                                                        const CsvDeclaration& declaration);

// The clock exchanges that date imported records: ticks are UTC, right within `error`. One at the
// first and last record and about one an hour between, as ClockMap lets the error grow away from an
// exchange. `records`: increasing in time. Empty for none.
[[nodiscard]] std::vector<analysis::base::ClockExchange> exchanges_for_import(
    std::span<const analysis::base::Record> records, analysis::base::Micros error);
inline constexpr analysis::base::Micros kDefaultImportTimeError{1'000'000};

}  // namespace logger::ingest
