// A small chart of values over time in characters, for a terminal of 80 columns. Pure.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "analysis/base/time.hpp"

namespace logger::app {

struct TerminalBand {
  std::string label;
  // One entry for each column, nullopt = nothing known there.
  std::vector<std::optional<std::pair<double, double>>> columns;  // lowest and highest
};
struct TerminalLine {
  std::string label;
  std::string mark;                            // one character
  std::vector<std::optional<double>> columns;  // as many as every other line has
};
struct TerminalLimit {
  std::string label;
  double value = 0.0;
};

struct TerminalChart {
  std::string unit;
  double least_label_step = 0.5;       // between two labels of the value axis
  analysis::base::TimeRange span;      // of all columns together
  std::vector<TerminalLine> lines;     // an earlier one is drawn over a later one
  std::optional<TerminalBand> band{};  // under all lines
  std::optional<TerminalLimit> limit{};
};

inline constexpr std::size_t kChartColumns = 64;
inline constexpr std::size_t kChartRows = 10;

// Axis labels, kChartRows rows, time below, then a key; at most 76 columns wide, each line indented
// by two. Empty when no line holds a value. Columns beyond kChartColumns are left out.
[[nodiscard]] std::string text_from_chart(const TerminalChart& chart);

}  // namespace logger::app
