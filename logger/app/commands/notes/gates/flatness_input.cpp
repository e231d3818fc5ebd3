#include "logger/app/commands/notes/gates/flatness_input.hpp"

#include <algorithm>
#include <charconv>
#include <optional>
#include <sstream>

#include "analysis/plan/room/length_text.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/commands/notes/note_values.hpp"

namespace logger::app {

using analysis::readiness::HeightGrid;
using analysis::readiness::ProfilePoint;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

constexpr double kLargestHeightMm = 10'000.0;
constexpr double kLargestGapMm = 100.0;
constexpr double kLongestLineM = 100.0;
constexpr double kLargestReadingMm = 10.0;
constexpr std::uintmax_t kMostFileBytes = 1'000'000;
constexpr double kMillimetres = 1000.0;

std::vector<std::string_view> split(std::string_view text, char separator) {
  auto parts = note_parts(text, separator);
  std::transform(parts.begin(), parts.end(), parts.begin(), trimmed);
  return parts;
}

// Blanks separate where nothing else does; any number of them is one.
std::vector<std::string_view> words_of(std::string_view text) {
  std::vector<std::string_view> words;
  for (const std::string_view word : split(text, ' ')) {
    if (!word.empty()) {
      words.push_back(word);
    }
  }
  return words;
}

std::optional<double> number_in(std::string text) {
  if (!text.empty() && text.front() == '+') {
    text.erase(0, 1);
  }
  double value = 0.0;
  const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (fault != std::errc() || end != text.data() + text.size() ||
      !(std::abs(value) <= kLargestHeightMm)) {
    return std::nullopt;
  }
  return value;
}

// One row of heights per line of text, in mm or with their own unit, separated by semicolons, else
// tabs, else commas, else blanks; an empty cell or "-" was not measured. A comma is a decimal mark
// where semicolons separate. `name`: of the file, for the refusal, which names line and height.
class HeightReader {
 public:
  // `in_inches`: what a number without a unit is; else mm.
  HeightReader(std::string text, std::string name, bool in_inches)
      : text_(std::move(text)), name_(std::move(name)), in_inches_(in_inches) {
    for (const char separator : {';', '\t', ','}) {
      if (separator_ == ' ' && text_.find(separator) != std::string::npos) {
        separator_ = separator;
      }
    }
  }

  Result<HeightGrid> grid() {
    std::istringstream lines(text_);
    std::string line;
    while (std::getline(lines, line)) {
      ++line_;
      if (trimmed(line).empty()) {
        continue;
      }
      const auto added = add_row(line);
      if (!added) {
        return store::Failure{added.error()};
      }
    }
    if (grid_.heights_mm.empty()) {
      return failure(ErrorCode::invalid_input, name_ + ": no heights; expected a row in each line");
    }
    return grid_;
  }

 private:
  Result<void> add_row(const std::string& line) {
    const auto cells = separator_ == ' ' ? words_of(line) : split(line, separator_);
    if (grid_.columns == 0) {
      grid_.columns = cells.size();
    }
    const std::string where = name_ + ":" + std::to_string(line_);
    if (cells.size() != grid_.columns) {
      return failure(ErrorCode::invalid_input, where + ": " + std::to_string(cells.size()) +
                                                   " heights; expected " +
                                                   std::to_string(grid_.columns) +
                                                   " as in the first row, empty or - where "
                                                   "none was measured");
    }
    for (std::size_t i = 0; i < cells.size(); ++i) {
      if (cells[i].empty() || cells[i] == "-") {
        grid_.heights_mm.emplace_back(std::nullopt);
        continue;
      }
      const auto height = height_mm_in(std::string(cells[i]));
      if (!height) {
        return failure(ErrorCode::invalid_input,
                       where + ": height " + std::to_string(i + 1) + ": `" + std::string(cells[i]) +
                           "`; expected " + (in_inches_ ? "inches" : "mm") +
                           ", -10000 mm to 10000 mm, or a length with "
                           "its unit such as -3/16 in");
      }
      grid_.heights_mm.emplace_back(*height);
    }
    return {};
  }

  // "-6", "0.5 mm", "-3/16 in".
  [[nodiscard]] std::optional<double> height_mm_in(std::string text) const {
    if (separator_ == ';') {
      std::replace(text.begin(), text.end(), ',', '.');
    }
    const auto number = number_in(text);
    if (number && !in_inches_) {
      return number;
    }
    const bool below = text.starts_with('-');
    const std::string_view plain =
        trimmed(std::string_view(text).substr(below || text.starts_with('+') ? 1 : 0));
    const bool bare = plain.find_first_not_of("0123456789./ ") == std::string_view::npos;
    if (bare && !in_inches_) {
      return std::nullopt;  // would be metres
    }
    const auto length = analysis::plan::length_from_text(std::string(plain) + (bare ? " in" : ""));
    const double height_mm = length ? length.value().value() * kMillimetres : 0.0;
    return length && height_mm <= kLargestHeightMm ? std::optional(below ? -height_mm : height_mm)
                                                   : std::nullopt;
  }

  std::string text_;
  std::string name_;
  bool in_inches_;
  char separator_ = ' ';
  std::size_t line_ = 0;
  HeightGrid grid_;
};

Result<double> length_m(const std::string& option, std::string_view text, double most_m,
                        const std::string& expected) {
  const auto length = analysis::plan::length_from_text(trimmed(text));
  if (!length) {
    return failure(ErrorCode::invalid_input, option + ": " + length.error());
  }
  if (!(length.value().value() >= 0.0 && length.value().value() <= most_m)) {
    return failure(ErrorCode::invalid_input,
                   option + ": `" + std::string(trimmed(text)) + "`; expected " + expected);
  }
  return length.value().value();
}

// "25 cm", or "25 cm x 50 cm": within a row, and from row to row.
Result<void> put_spacing(const std::string& text, HeightGrid& grid) {
  const std::string option = "--spacing " + text;
  if (text.empty()) {
    return failure(ErrorCode::invalid_input,
                   "--grid needs --spacing, how far the heights lie apart, such as \"25 cm\" or "
                   "\"25 cm x 50 cm\" (in a row x from row to row)");
  }
  const auto sides = split(text, 'x');
  for (const std::string_view side : sides) {
    const auto length = length_m(option, side, 5.0, "1 cm to 5 m, with its unit");
    if (!length) {
      return store::Failure{length.error()};
    }
    (side.data() == sides.front().data() ? grid.along_m : grid.between_m) = length.value();
  }
  grid.between_m = sides.size() == 1 ? grid.along_m : grid.between_m;
  constexpr double kFinestM = 0.01 - 1e-9;
  if (sides.size() > 2 || grid.along_m < kFinestM || grid.between_m < kFinestM) {
    return failure(
        ErrorCode::invalid_input,
        option + ": expected one length or two with an x between, each 1 cm to 5 m with its unit");
  }
  return {};
}

Result<HeightGrid> grid_from_file(const path& file, bool in_inches) {
  const std::string name = "--grid " + file.string();
  std::error_code error;
  const auto size = std::filesystem::file_size(file, error);
  if (error || size > kMostFileBytes) {
    return failure(ErrorCode::invalid_input,
                   name + ": " + (error ? error.message() : std::to_string(size) + " bytes") +
                       "; expected a file of heights that can be read, 1 MB at most");
  }
  const auto text = read_file(file);
  if (!text) {
    return store::Failure{text.error()};
  }
  // Spreadsheets put a byte order mark before UTF-8.
  constexpr std::string_view kMark = "\xEF\xBB\xBF";
  return HeightReader(text.value().substr(text.value().starts_with(kMark) ? kMark.size() : 0),
                      file.string(), in_inches)
      .grid();
}

// "0 cm=0 mm, 50 cm=2 mm": where along the line, and the gap below it there.
Result<std::vector<ProfilePoint>> gap_line_from(const std::string& text) {
  const std::string option = "--line " + text;
  std::vector<ProfilePoint> line;
  for (const std::string_view reading : split(text, ',')) {
    const auto sides = split(reading, '=');
    if (sides.size() != 2) {
      return failure(ErrorCode::invalid_input,
                     option + ": `" + std::string(reading) +
                         "`; expected PLACE=GAP with units, such as 50 cm=2 mm");
    }
    const auto place = length_m(option, sides[0], kLongestLineM, "0 to 100 m along the line");
    const auto gap = length_m(option, sides[1], kLargestGapMm / kMillimetres,
                              "a gap of 0 to 100 mm, with its unit");
    if (!place || !gap) {
      return store::Failure{!place ? place.error() : gap.error()};
    }
    line.push_back({place.value(), -gap.value() * kMillimetres});
  }
  return line;
}

}  // namespace

Result<analysis::readiness::FlatnessReadings> flatness_readings_from(
    const GateAnswerOptions& options) {
  analysis::readiness::FlatnessReadings readings;
  readings.reading_mm = options.reading_mm.value_or(readings.reading_mm);
  if (!(readings.reading_mm > 0.0 && readings.reading_mm <= kLargestReadingMm)) {
    return failure(ErrorCode::invalid_input, "--reading-mm: expected above 0 and at most 10 mm");
  }
  for (const std::string& text : options.lines) {
    auto line = gap_line_from(text);
    if (!line) {
      return store::Failure{line.error()};
    }
    readings.lines.push_back(std::move(line).value());
  }
  if (!options.grid.empty()) {
    auto grid = grid_from_file(options.grid, options.heights == "in");
    const auto spaced = grid ? put_spacing(options.spacing, grid.value()) : Result<void>{};
    if (!grid || !spaced) {
      return store::Failure{!grid ? grid.error() : spaced.error()};
    }
    readings.grid = std::move(grid).value();
  } else if (!options.spacing.empty() || !options.map.empty() || !options.heights.empty()) {
    return failure(ErrorCode::invalid_input, std::string(!options.spacing.empty() ? "--spacing"
                                                         : options.map.empty()    ? "--heights"
                                                                                  : "--map") +
                                                 " goes with --grid FILE.csv");
  }
  return readings;
}

}  // namespace logger::app
