#include "logger/ingest/csv_text.hpp"

#include <array>
#include <charconv>
#include <cstdio>
#include <utility>

namespace logger::ingest {

using analysis::base::Micros;
using analysis::base::UtcMicros;

analysis::base::Result<bool, CsvSyntaxError> CsvRows::next(CsvRow& row) {
  row.cells.clear();
  row.line = line_;
  if (rest_.empty()) {
    return false;
  }
  while (true) {
    std::string& cell = row.cells.emplace_back();
    if (auto complaint = take_cell(cell)) {
      return analysis::base::Failure{CsvSyntaxError{line_, std::move(*complaint)}};
    }
    if (take_row_end()) {
      return true;
    }
    rest_.remove_prefix(1);  // the separator
  }
}

// Leaves rest_ at a separator, a row end or the end of the text.
std::optional<std::string> CsvRows::take_cell(std::string& cell) {
  if (rest_.starts_with('"')) {
    return take_quoted(cell);
  }
  std::size_t length = 0;
  while (length < rest_.size() && rest_[length] != separator_ && rest_[length] != '\n') {
    if (rest_[length] == '"') {
      return "a quote inside a cell that does not begin with one";
    }
    if (rest_[length] == '\r') {
      if (!rest_.substr(length).starts_with("\r\n")) {
        return "a carriage return that no line feed follows";
      }
      break;
    }
    ++length;
  }
  cell.assign(rest_.substr(0, length));
  rest_.remove_prefix(length);
  return std::nullopt;
}

std::optional<std::string> CsvRows::take_quoted(std::string& cell) {
  const std::size_t opened_at = line_;
  rest_.remove_prefix(1);
  while (true) {
    const std::size_t quote = rest_.find('"');
    if (quote == std::string_view::npos) {
      line_ = opened_at;
      return "a quote is opened here and never closed";
    }
    for (const char c : rest_.substr(0, quote)) {
      line_ += c == '\n' ? 1U : 0U;
    }
    cell.append(rest_.substr(0, quote));
    rest_.remove_prefix(quote + 1);
    if (!rest_.starts_with('"')) {
      break;
    }
    cell.push_back('"');
    rest_.remove_prefix(1);
  }
  if (rest_.empty() || rest_.starts_with(separator_) || rest_.starts_with('\n') ||
      rest_.starts_with("\r\n")) {
    return std::nullopt;
  }
  return "more text after a closing quote";
}

bool CsvRows::take_row_end() {
  if (rest_.empty()) {
    return true;
  }
  if (rest_.starts_with("\r\n")) {
    rest_.remove_prefix(2);
  } else if (rest_.starts_with('\n')) {
    rest_.remove_prefix(1);
  } else {
    return false;
  }
  ++line_;
  return true;
}

std::optional<double> number_from_cell(std::string_view cell, char decimal) {
  std::string text(cell);
  for (char& c : text) {
    if (c == decimal) {
      c = '.';
    } else if ((c < '0' || c > '9') && c != '-' && c != 'e' && c != 'E' && c != '+') {
      return std::nullopt;  // the other decimal mark, "nan" and "inf" included
    }
  }
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size()) {
    return std::nullopt;
  }
  return value;
}

analysis::base::Result<TimeFormat, std::string> TimeFormat::from_text(std::string_view format,
                                                                      Micros zone_offset) {
  TimeFormat result;
  if (format == "rfc3339") {
    if (zone_offset != Micros{0}) {
      return analysis::base::Failure{
          std::string("rfc3339 carries its own zone; leave the time zone out")};
    }
    return result;
  }
  result.zone_offset_ = zone_offset;
  constexpr std::string_view kDirectives = "YmdHMS";
  std::string missing{kDirectives};
  for (std::size_t i = 0; i < format.size(); ++i) {
    if (format[i] != '%') {
      result.tokens_.push_back({format[i], 0, 0, 0});
      continue;
    }
    ++i;
    const std::size_t found = i < format.size() ? missing.find(format[i]) : std::string::npos;
    if (found == std::string::npos) {
      return analysis::base::Failure{
          "\"%" + std::string(format.substr(i, 1)) +
          "\" is unknown or repeated; known are %Y %m %d %H %M %S, each once"};
    }
    missing.erase(found, 1);
    const bool year = format[i] == 'Y';
    result.tokens_.push_back({0, format[i], year ? 4U : 1U, year ? 4U : 2U});
  }
  if (!missing.empty() && missing != "S") {
    return analysis::base::Failure{"%" + missing.substr(0, 1) + " is missing"};
  }
  // Beside a digit or another directive one digit would be ambiguous ("2021115").
  const auto may_be_digit = [](const Token& token) {
    return token.directive != 0 || (token.literal >= '0' && token.literal <= '9');
  };
  for (std::size_t i = 0; i + 1 < result.tokens_.size(); ++i) {
    if (may_be_digit(result.tokens_[i]) && may_be_digit(result.tokens_[i + 1])) {
      result.tokens_[i].least_digits = result.tokens_[i].most_digits;
      result.tokens_[i + 1].least_digits = result.tokens_[i + 1].most_digits;
    }
  }
  return result;
}

std::optional<UtcMicros> TimeFormat::utc_from_text(std::string_view text) const {
  if (tokens_.empty()) {
    return analysis::base::utc_from_rfc3339(text);
  }
  int year = 0, month = 0, day = 0, hour = 0, minute = 0, second = 0;
  for (const Token& token : tokens_) {
    if (token.directive == 0) {
      if (!text.starts_with(token.literal)) {
        return std::nullopt;
      }
      text.remove_prefix(1);
      continue;
    }
    std::size_t digits = 0;
    int value = 0;
    while (digits < token.most_digits && digits < text.size() && text[digits] >= '0' &&
           text[digits] <= '9') {
      value = value * 10 + (text[digits++] - '0');
    }
    if (digits < token.least_digits) {
      return std::nullopt;
    }
    text.remove_prefix(digits);
    switch (token.directive) {
      case 'Y':
        year = value;
        break;
      case 'm':
        month = value;
        break;
      case 'd':
        day = value;
        break;
      case 'H':
        hour = value;
        break;
      case 'M':
        minute = value;
        break;
      default:
        second = value;
        break;
    }
  }
  if (!text.empty()) {
    return std::nullopt;
  }
  std::array<char, 80> rfc3339{};  // six integers of any size
  std::snprintf(rfc3339.data(), rfc3339.size(), "%04d-%02d-%02dT%02d:%02d:%02dZ", year, month, day,
                hour, minute, second);
  const auto local = analysis::base::utc_from_rfc3339(rfc3339.data());
  return local ? std::optional(*local - zone_offset_) : std::nullopt;
}

}  // namespace logger::ingest
