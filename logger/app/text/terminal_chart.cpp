#include "logger/app/text/terminal_chart.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "logger/app/text/terminal_text.hpp"

namespace logger::app {

using analysis::base::minute_text_from_utc;
using analysis::base::UtcMicros;

namespace {

constexpr std::size_t kLabelWidth = 7;  // of the values at the left
constexpr const char* kBandMark = "░";
constexpr const char* kLimitMark = "─";

struct Extent {
  double low = 0.0;
  double high = 0.0;
  bool any = false;
  void take(double value) {
    low = any ? std::min(low, value) : value;
    high = any ? std::max(high, value) : value;
    any = true;
  }
};

Extent extent_of(const TerminalChart& chart) {
  Extent extent;
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

// A flat curve still needs a height; one step of the axis labels is the least.
Extent widened(Extent extent, int decimals) {
  const double least = std::pow(10.0, -decimals) * (kChartRows - 1) / 2.0;
  const double missing = std::max(0.0, least - (extent.high - extent.low)) / 2.0;
  extent.low -= missing;
  extent.high += missing;
  return extent;
}

class Grid {
 public:
  Grid(const Extent& extent) : extent_(extent) {
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
  Extent extent_;
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
  for (const TerminalLine& line : chart.lines) {
    for (std::size_t i = 0; i < std::min(kChartColumns, line.columns.size()); ++i) {
      if (line.columns[i]) {
        grid.put(i, *line.columns[i], line.mark);
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
  for (auto line = chart.lines.rbegin(); line != chart.lines.rend(); ++line) {
    add(line->mark, line->label);
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
  const Extent seen = extent_of(chart);
  if (!seen.any) {
    return {};
  }
  Grid grid(widened(seen, chart.decimals));
  draw(grid, chart);
  std::string text = "  " + right_aligned(chart.unit, kLabelWidth) + '\n';
  for (std::size_t row = 0; row < kChartRows; ++row) {
    const bool labelled = row % 3 == 0;  // first, last and two between
    text += "  " +
            (labelled ? right_aligned(fixed(grid.value_of(row), chart.decimals), kLabelWidth) + "┤"
                      : std::string(kLabelWidth, ' ') + "│") +
            grid.row_text(row) + '\n';
  }
  const std::string from = minute_text_from_utc(chart.span.from);
  const std::string to = minute_text_from_utc(chart.span.to);
  const std::string margin(2 + kLabelWidth, ' ');
  text += margin + "└";
  for (std::size_t i = 0; i < kChartColumns; ++i) {
    text += "─";
  }
  text += '\n' + margin + ' ' + from + right_aligned(to, kChartColumns - columns_of(from)) + '\n';
  return text + margin + ' ' + key_text(chart) + '\n';
}

}  // namespace logger::app
