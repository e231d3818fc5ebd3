// The text side of CSV: rows and cells as RFC 4180 quotes them, numbers and local times as
// declared. Pure; any thread. Knows nothing of sensors.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/base/time.hpp"

namespace logger::ingest {

struct CsvRow {
  std::size_t line = 0;  // of its first character, from 1
  std::vector<std::string> cells;
};

struct CsvSyntaxError {
  std::size_t line = 0;
  std::string what;
};

// Takes row after row from a text, which it does not own. Source: RFC 4180 section 2; beside CRLF a
// lone LF ends a row, and the separator is chosen.
class CsvRows {
 public:
  CsvRows(std::string_view text, char separator) : rest_(text), separator_(separator) {}

  // false at the end of the text. Errors: a quote that is not closed or stands inside an unquoted
  // cell, bytes after a closing quote, a carriage return alone.
  [[nodiscard]] analysis::base::Result<bool, CsvSyntaxError> next(CsvRow& row);

 private:
  std::optional<std::string> take_cell(std::string& cell);  // the complaint, if any
  std::optional<std::string> take_quoted(std::string& cell);
  bool take_row_end();

  std::string_view rest_;
  char separator_;
  std::size_t line_ = 1;
};

// A finite decimal number, whole text, with that decimal mark; no grouping, no sign '+', no spaces.
[[nodiscard]] std::optional<double> number_from_cell(std::string_view cell, char decimal);

// How a file writes its times: "rfc3339", or a text with %Y %m %d %H %M %S.
class TimeFormat {
 public:
  // `zone_offset`: local time minus UTC. The error says what is wrong with the format.
  [[nodiscard]] static analysis::base::Result<TimeFormat, std::string> from_text(
      std::string_view format, analysis::base::Micros zone_offset);

  // nullopt when the text is anything else than the format says, impossible dates included.
  [[nodiscard]] std::optional<analysis::base::UtcMicros> utc_from_text(std::string_view text) const;

 private:
  struct Token {
    char literal = 0;    // compared as it is, or
    char directive = 0;  // one of YmdHMS
    std::size_t least_digits = 0;
    std::size_t most_digits = 0;
  };
  TimeFormat() = default;

  std::vector<Token> tokens_;  // empty = RFC 3339
  analysis::base::Micros zone_offset_{0};
};

}  // namespace logger::ingest
