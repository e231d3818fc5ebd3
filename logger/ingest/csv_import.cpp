#include "logger/ingest/csv_import.hpp"

#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <limits>
#include <utility>

#include "logger/ingest/csv_text.hpp"

namespace logger::ingest {

using analysis::base::ChannelStatus;
using analysis::base::ClockExchange;
using analysis::base::kMaxChannels;
using analysis::base::Micros;
using analysis::base::Record;
using analysis::base::UtcMicros;
using store::ErrorCode;
using store::failure;
using store::Failure;
using store::Result;

namespace {

constexpr std::array<std::pair<std::string_view, CsvUnit>, 5> kUnits{{
    {"celsius", CsvUnit::celsius},
    {"fahrenheit", CsvUnit::fahrenheit},
    {"percent_rh", CsvUnit::percent_rh},
    {"rh_fraction", CsvUnit::rh_fraction},
    {"volt", CsvUnit::volt},
}};

constexpr double kAbsoluteZeroCelsius = -273.15;
// A value this near to a whole number of counts is one; what is left is the rounding of doubles.
constexpr double kGridTolerance = 1e-6;
// 2000-01-01T00:00:00Z; no such logger's file is older: our assumption.
constexpr UtcMicros kFirstTime{946'684'800'000'000};
constexpr std::string_view kByteOrderMark = "\xef\xbb\xbf";

std::string_view name_of(CsvUnit unit) {
  return std::find_if(kUnits.begin(), kUnits.end(),
                      [&](const auto& entry) { return entry.second == unit; })
      ->first;
}

// Text of the file as it can stand in one line of a message.
std::string quoted(std::string_view text) {
  constexpr std::size_t kLongest = 40;
  std::string shown = "\"";
  for (const char c : text.substr(0, kLongest)) {
    shown += static_cast<unsigned char>(c) < 0x20 ? '?' : c;
  }
  return shown + (text.size() > kLongest ? "...\"" : "\"");
}

std::string number_text(double value) {
  std::array<char, 32> text{};
  std::snprintf(text.data(), text.size(), "%.10g", value);
  return text.data();
}

std::string_view people_unit(CsvUnit unit) {
  switch (unit) {
    case CsvUnit::celsius:
    case CsvUnit::fahrenheit:
      return "°C";
    case CsvUnit::percent_rh:
    case CsvUnit::rh_fraction:
      return "%RH";
    case CsvUnit::volt:
      return "V";
  }
  return "";
}

std::string short_text(double value) {
  std::array<char, 32> text{};
  std::snprintf(text.data(), text.size(), "%.4g", value);
  return text.data();
}

// The one place where a file's unit becomes the unit raw counts stand for.
double file_unit_value(double value, CsvUnit unit) {
  switch (unit) {
    case CsvUnit::fahrenheit:
      return (value - 32.0) / 1.8;
    case CsvUnit::rh_fraction:
      return value * 100.0;
    default:
      return value;
  }
}

// What a value of that unit has to be; empty when it is.
std::string complaint_about(double value, CsvUnit unit) {
  const double in_file_unit = file_unit_value(value, unit);
  switch (unit) {
    case CsvUnit::celsius:
    case CsvUnit::fahrenheit:
      return in_file_unit < kAbsoluteZeroCelsius
                 ? "is below absolute zero in " + std::string(name_of(unit))
                 : "";
    case CsvUnit::percent_rh:
      return value < 0.0 || value > 100.0 ? "is outside 0..100 percent_rh" : "";
    case CsvUnit::rh_fraction:
      return value < 0.0 || value > 1.0 ? "is outside 0..1 rh_fraction; is the unit percent_rh?"
                                        : "";
    case CsvUnit::volt:
      return "";
  }
  return "";
}

struct DatedRow {
  Record record;
  std::size_t line = 0;
};

// Reads one file; its members are what the rows need of the header line and the declaration.
class Import {
 public:
  Import(std::string_view text, const CsvDeclaration& declaration)
      : declaration_(declaration),
        rows_(text.starts_with(kByteOrderMark) ? text.substr(kByteOrderMark.size()) : text,
              declaration.separator) {}

  Result<CsvImport> run() {
    if (const std::string wrong = complaint_about_declaration(); !wrong.empty()) {
      return failure(ErrorCode::invalid_input, declaration_.file + ": " + wrong);
    }
    auto format = TimeFormat::from_text(declaration_.time_format, declaration_.zone_offset);
    if (!format) {
      return failure(ErrorCode::invalid_input, declaration_.file + ": time format " +
                                                   quoted(declaration_.time_format) + ": " +
                                                   format.error());
    }
    if (auto header = read_header(); !header) {
      return Failure{header.error()};
    }
    if (auto read = read_rows(format.value()); !read) {
      return Failure{read.error()};
    }
    if (auto plausible = check_units(); !plausible) {
      return Failure{plausible.error()};
    }
    sort_and_merge();
    return std::move(result_);
  }

 private:
  [[nodiscard]] Failure refused(std::size_t line, const std::string& what) const {
    return failure(ErrorCode::invalid_input,
                   declaration_.file + ":" + std::to_string(line) + ": " + what);
  }

  [[nodiscard]] std::string complaint_about_declaration() const;
  [[nodiscard]] std::string complaint_about_channel(const CsvChannel& channel) const;
  // false at the end of the file.
  Result<bool> next_row();
  Result<void> read_header();
  [[nodiscard]] Result<std::size_t> position_of(const std::string& column) const;
  Result<void> read_rows(const TimeFormat& format);
  Result<void> read_value(std::size_t channel, Record& record);
  [[nodiscard]] Result<void> check_units() const;
  void sort_and_merge();

  const CsvDeclaration& declaration_;
  CsvRows rows_;
  CsvRow row_;
  std::size_t cells_ = 0;  // of the header line
  std::size_t time_position_ = 0;
  std::vector<std::size_t> positions_;  // of the declared channels
  std::vector<DatedRow> dated_;
  CsvImport result_;
};

std::string Import::complaint_about_declaration() const {
  constexpr std::string_view kNoSeparators = "\"\r\n-+.eE0123456789";
  if (declaration_.decimal != '.' && declaration_.decimal != ',') {
    return "the decimal mark has to be \".\" or \",\"";
  }
  if (declaration_.separator == declaration_.decimal ||
      kNoSeparators.find(declaration_.separator) != std::string_view::npos) {
    return "the separator can't be " + quoted(std::string_view(&declaration_.separator, 1)) +
           " beside the decimal mark " + quoted(std::string_view(&declaration_.decimal, 1));
  }
  if (declaration_.channels.empty()) {
    return "no channel is declared";
  }
  for (const CsvChannel& channel : declaration_.channels) {
    if (std::string wrong = complaint_about_channel(channel); !wrong.empty()) {
      return "channel " + std::to_string(channel.index) + ": " + wrong;
    }
  }
  return "";
}

std::string Import::complaint_about_channel(const CsvChannel& channel) const {
  if (channel.index < 0 || channel.index >= static_cast<int>(kMaxChannels)) {
    return "the index has to be 0.." + std::to_string(kMaxChannels - 1);
  }
  if (!std::isfinite(channel.units_per_count) || channel.units_per_count <= 0.0) {
    return "units_per_count has to be above 0, is " + number_text(channel.units_per_count);
  }
  const auto clashes = [&](const CsvChannel& other) {
    return &other != &channel && (other.index == channel.index || other.column == channel.column);
  };
  if (channel.column == declaration_.time_column ||
      std::any_of(declaration_.channels.begin(), declaration_.channels.end(), clashes)) {
    return "its index or its column " + quoted(channel.column) + " is declared twice";
  }
  return "";
}

Result<bool> Import::next_row() {
  auto more = rows_.next(row_);
  if (!more) {
    return refused(more.error().line, more.error().what);
  }
  return more.value();
}

Result<std::size_t> Import::position_of(const std::string& column) const {
  const auto found = std::find(row_.cells.begin(), row_.cells.end(), column);
  if (found == row_.cells.end()) {
    std::string present;
    for (const std::string& cell : row_.cells) {
      present += (present.empty() ? "" : ", ") + quoted(cell);
    }
    return refused(row_.line, "column " + quoted(column) + " is missing; the file has " + present);
  }
  if (std::find(found + 1, row_.cells.end(), column) != row_.cells.end()) {
    return refused(row_.line, "column " + quoted(column) + " is there twice");
  }
  return static_cast<std::size_t>(found - row_.cells.begin());
}

Result<void> Import::read_header() {
  auto more = next_row();
  if (!more) {
    return Failure{more.error()};
  }
  if (!more.value()) {
    return refused(1, "the file is empty, expected a header line");
  }
  cells_ = row_.cells.size();
  auto time = position_of(declaration_.time_column);
  if (!time) {
    return Failure{time.error()};
  }
  time_position_ = time.value();
  for (const CsvChannel& channel : declaration_.channels) {
    auto position = position_of(channel.column);
    if (!position) {
      return Failure{position.error()};
    }
    positions_.push_back(position.value());
    result_.channels.push_back({channel.index, 0, 0, 0, people_unit(channel.unit),
                                std::numeric_limits<double>::infinity(),
                                -std::numeric_limits<double>::infinity()});
  }
  for (std::size_t i = 0; i < cells_; ++i) {
    if (i != time_position_ &&
        std::find(positions_.begin(), positions_.end(), i) == positions_.end()) {
      result_.ignored_columns.push_back(row_.cells[i]);
    }
  }
  return {};
}

Result<void> Import::read_rows(const TimeFormat& format) {
  std::optional<UtcMicros> previous;
  while (true) {
    auto more = next_row();
    if (!more) {
      return Failure{more.error()};
    }
    if (!more.value()) {
      return {};
    }
    if (row_.cells.size() != cells_) {
      return refused(row_.line, "the row has " + std::to_string(row_.cells.size()) +
                                    " cells, the header line has " + std::to_string(cells_));
    }
    const std::string& time = row_.cells[time_position_];
    const auto at = format.utc_from_text(time);
    if (!at) {
      return refused(row_.line, "column " + quoted(declaration_.time_column) + ": " + quoted(time) +
                                    " is no time, expected " + declaration_.time_format);
    }
    if (*at < kFirstTime) {
      return refused(row_.line, "column " + quoted(declaration_.time_column) + ": " + quoted(time) +
                                    " is before 2000; expected the time of a clock that was set");
    }
    result_.backward_rows += previous && *at < *previous ? 1U : 0U;
    previous = at;
    Record record;
    record.ticks_ms = std::chrono::floor<std::chrono::milliseconds>(Micros{at->value}).count();
    record.id = {0, record.ticks_ms};
    record.statuses.fill(ChannelStatus::not_fitted);
    for (std::size_t i = 0; i < positions_.size(); ++i) {
      if (auto read = read_value(i, record); !read) {
        return read;
      }
    }
    dated_.push_back({record, row_.line});
    ++result_.rows;
  }
}

Result<void> Import::read_value(std::size_t channel, Record& record) {
  const CsvChannel& declared = declaration_.channels[channel];
  CsvChannelSummary& summary = result_.channels[channel];
  const auto index = static_cast<std::size_t>(declared.index);
  const std::string& cell = row_.cells[positions_[channel]];
  const auto where = [&] {
    return "column " + quoted(declared.column) + ": " + quoted(cell) + " ";
  };
  if (cell.empty()) {
    record.statuses[index] = ChannelStatus::no_answer;
    ++summary.empty_cells;
    return {};
  }
  const auto number = number_from_cell(cell, declaration_.decimal);
  if (!number) {
    return refused(row_.line, where() + "is no number, expected " +
                                  std::string(name_of(declared.unit)) + " with the decimal mark " +
                                  quoted(std::string_view(&declaration_.decimal, 1)));
  }
  if (const std::string wrong = complaint_about(*number, declared.unit); !wrong.empty()) {
    return refused(row_.line, where() + wrong);
  }
  const double value = file_unit_value(*number, declared.unit);
  if (value < declared.low || value > declared.high) {
    const std::string unit(people_unit(declared.unit));
    return refused(row_.line, where() + "stands for " + short_text(value) + ' ' + unit +
                                  "; the channel's sensor measures " + number_text(declared.low) +
                                  " to " + number_text(declared.high) + ' ' + unit);
  }
  const double counts = value / declared.units_per_count;
  const double nearest = std::round(counts);
  if (std::abs(nearest) > std::numeric_limits<std::int32_t>::max()) {
    return refused(row_.line,
                   where() + "is too large for counts of " + number_text(declared.units_per_count));
  }
  record.statuses[index] = ChannelStatus::ok;
  record.raw_counts[index] = static_cast<std::int32_t>(nearest);
  ++summary.values;
  summary.off_grid_values += std::abs(counts - nearest) > kGridTolerance ? 1U : 0U;
  summary.lowest = std::min(summary.lowest, value);
  summary.highest = std::max(summary.highest, value);
  return {};
}

Result<void> Import::check_units() const {
  for (std::size_t i = 0; i < result_.channels.size(); ++i) {
    const CsvChannel& declared = declaration_.channels[i];
    const CsvChannelSummary& summary = result_.channels[i];
    if (declared.unit == CsvUnit::percent_rh && summary.values > 0 && summary.highest <= 1.0) {
      return failure(ErrorCode::invalid_input,
                     declaration_.file + ": column " + quoted(declared.column) + ": no value of " +
                         std::to_string(summary.values) + " is above " +
                         number_text(summary.highest) +
                         ", declared as percent_rh; is the unit rh_fraction?");
    }
  }
  return {};
}

void Import::sort_and_merge() {
  std::stable_sort(dated_.begin(), dated_.end(),
                   [](const DatedRow& a, const DatedRow& b) { return a.record.id < b.record.id; });
  std::size_t kept_line = 0;
  result_.records.reserve(dated_.size());
  for (const DatedRow& row : dated_) {
    if (result_.records.empty() || result_.records.back().id != row.record.id) {
      result_.records.push_back(row.record);
      kept_line = row.line;
    } else if (result_.records.back() == row.record) {
      ++result_.repeated_rows;
    } else {
      result_.conflicts.push_back({row.line, kept_line, UtcMicros{row.record.ticks_ms * 1000}});
    }
  }
  for (CsvChannelSummary& summary : result_.channels) {
    if (summary.values == 0) {
      summary.lowest = summary.highest = 0.0;
    }
  }
}

}  // namespace

std::optional<CsvUnit> csv_unit_from_name(std::string_view name) {
  const auto* const found = std::find_if(kUnits.begin(), kUnits.end(),
                                         [&](const auto& entry) { return entry.first == name; });
  return found == kUnits.end() ? std::nullopt : std::optional(found->second);
}

std::optional<Micros> zone_offset_from_text(std::string_view text) {
  if (!text.starts_with('Z') && !text.starts_with('+') && !text.starts_with('-')) {
    return std::nullopt;
  }
  const std::string noon = "1970-01-02T12:00:00";
  const auto there = analysis::base::utc_from_rfc3339(noon + std::string(text));
  const auto greenwich = analysis::base::utc_from_rfc3339(noon + "Z");
  return there ? std::optional(*greenwich - *there) : std::nullopt;
}

Result<CsvImport> records_from_csv(std::string_view text, const CsvDeclaration& declaration) {
  return Import(text, declaration).run();
}

std::vector<ClockExchange> exchanges_for_import(std::span<const Record> records, Micros error) {
  constexpr std::int64_t kSpacingMs = 3'600'000;
  std::vector<ClockExchange> exchanges;
  for (const Record& record : records) {
    const bool last = &record == &records.back();
    if (exchanges.empty() || last || record.ticks_ms - exchanges.back().ticks_ms >= kSpacingMs) {
      exchanges.push_back({record.ticks_ms, UtcMicros{record.ticks_ms * 1000}, error});
    }
  }
  return exchanges;
}

}  // namespace logger::ingest
