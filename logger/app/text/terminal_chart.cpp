#include "logger/app/text/terminal_chart.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "analysis/drawing/axis.hpp"
#include "logger/app/text/terminal_text.hpp"

namespace logger::app {

using analysis::base::minute_text_from_utc;
using analysis::base::UtcMicros;
using analysis::drawing::ValueExtent;

namespace {

constexpr std::size_t kValueWidth = 7;  // of the values at the left
constexpr const char* kBandMark = "░";
constexpr const char* kLimitMark = "─";

ValueExtent extent_of(const TerminalChart& chart) {
  ValueExtent extent;
  for (const TerminalLine& line : chart.lines) {
    for (const auto& value : line.columns) {
      if (value) {
        extent.take(*value);
      }
    }
  }
  if (chart.band) {
    for (const auto& range : chart.band->columns) {
      if (range) {
        extent.take(range->first);
        extent.take(range->second);
      }
    }
  }
  if (extent.any && chart.limit) {
    extent.take(chart.limit->value);
  }
  return extent;
}

// Every kLabelledRow-th row has a label, and labels are round numbers.
constexpr std::size_t kLabelledRow = 3;
constexpr std::size_t kLabelSteps = (kChartRows - 1) / kLabelledRow;
static_assert(kLabelSteps * kLabelledRow == kChartRows - 1);

struct LabelAxis {
  ValueExtent extent;
  int decimals = 0;
};

// The smallest round step whose labels reach over all values; at least `least`.
LabelAxis axis_from(const ValueExtent& seen, double least) {
  constexpr std::array<double, 8> kRound{1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0};
  for (int power = -1; power < 7; ++power) {
    for (const double round : kRound) {
      const double step = round * std::pow(10.0, power);
      const double low = std::floor(seen.low / step + 1e-9) * step;
      const double high = low + static_cast<double>(kLabelSteps) * step;
      if (step >= least && high >= seen.high - 1e-9) {
        const bool whole = std::abs(step - std::round(step)) < 1e-9;
        const bool tenths = std::abs(10.0 * step - std::round(10.0 * step)) < 1e-9;
        return {{low, high, true}, whole ? 0 : tenths ? 1 : 2};
      }
    }
  }
  return {seen, 0};
}

class Grid {
 public:
  Grid(const ValueExtent& extent) : extent_(extent) {
    for (auto& row : cells_) {
      row.fill(" ");
    }
  }
  [[nodiscard]] std::size_t row_of(double value) const {
    const double share = (extent_.high - value) / (extent_.high - extent_.low);
    return static_cast<std::size_t>(std::lround(std::clamp(share, 0.0, 1.0) * (kChartRows - 1)));
  }
  [[nodiscard]] double value_of(std::size_t row) const {
    return extent_.high - (extent_.high - extent_.low) * static_cast<double>(row) /
                              static_cast<double>(kChartRows - 1);
  }
  void put(std::size_t column, double value, const std::string& mark) {
    cells_[row_of(value)][column] = mark;
  }
  void fill(std::size_t column, double low, double high) {
    for (std::size_t row = row_of(high); row <= row_of(low); ++row) {
      cells_[row][column] = kBandMark;
    }
  }
  [[nodiscard]] std::string row_text(std::size_t row) const {
    std::string text;
    for (const std::string& cell : cells_[row]) {
      text += cell;
    }
    return text.substr(0, text.find_last_not_of(' ') + 1);
  }

 private:
  ValueExtent extent_;
  std::array<std::array<std::string, kChartColumns>, kChartRows> cells_;
};

void draw(Grid& grid, const TerminalChart& chart) {
  if (chart.band) {
    for (std::size_t i = 0; i < std::min(kChartColumns, chart.band->columns.size()); ++i) {
      if (const auto& range = chart.band->columns[i]) {
        grid.fill(i, range->first, range->second);
      }
    }
  }
  if (chart.limit) {
    for (std::size_t i = 0; i < kChartColumns; ++i) {
      grid.put(i, chart.limit->value, kLimitMark);
    }
  }
  for (auto line = chart.lines.rbegin(); line != chart.lines.rend(); ++line) {
    for (std::size_t i = 0; i < std::min(kChartColumns, line->columns.size()); ++i) {
      if (line->columns[i]) {
        grid.put(i, *line->columns[i], line->mark);
      }
    }
  }
}

std::string right_aligned(const std::string& text, std::size_t width) {
  const std::size_t used = columns_of(text);
  return used < width ? std::string(width - used, ' ') + text : text;
}

std::string key_text(const TerminalChart& chart) {
  std::string key;
  const auto add = [&](const std::string& mark, const std::string& label) {
    key += (key.empty() ? "" : "   ") + mark + ' ' + label;
  };
  for (const TerminalLine& line : chart.lines) {
    add(line.mark, line.label);
  }
  if (chart.band) {
    add(kBandMark, chart.band->label);
  }
  if (chart.limit) {
    add(kLimitMark, chart.limit->label);
  }
  return key;
}

}  // namespace

std::string text_from_chart(const TerminalChart& chart) {
  const ValueExtent seen = extent_of(chart);
  if (!seen.any) {
    return {};
  }
  const LabelAxis axis = axis_from(seen, chart.least_label_step);
  Grid grid(axis.extent);
  draw(grid, chart);
  std::string text = "  " + right_aligned(chart.unit, kValueWidth) + '\n';
  for (std::size_t row = 0; row < kChartRows; ++row) {
    const bool labelled = row % kLabelledRow == 0;
    text += "  " +
            (labelled ? right_aligned(fixed(grid.value_of(row), axis.decimals), kValueWidth) + "┤"
                      : std::string(kValueWidth, ' ') + "│") +
            grid.row_text(row) + '\n';
  }
  const std::string from = minute_text_from_utc(chart.span.from);
  const std::string to = minute_text_from_utc(chart.span.to);
  const std::string margin(2 + kValueWidth, ' ');
  text += margin + "└";
  for (std::size_t i = 0; i < kChartColumns; ++i) {
    text += "─";
  }
  text += '\n' + margin + ' ' + from + right_aligned(to, kChartColumns - columns_of(from)) + '\n';
  return text + margin + ' ' + key_text(chart) + '\n';
}

}  // namespace logger::app
