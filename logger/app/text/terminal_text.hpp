// Plain text for a terminal of 80 columns: padding, wrapping, numbers, what several commands print
// alike. Pure.
#pragma once

#include <cstddef>
#include <string>

#include "analysis/readiness/verdict.hpp"

namespace logger::app {

inline constexpr std::size_t kTerminalWidth = 80;

// Columns a terminal needs for UTF-8 text of the scripts used here: one a code point.
[[nodiscard]] std::size_t columns_of(const std::string& text);
[[nodiscard]] std::string padded(const std::string& text, std::size_t width);
// Wraps at spaces but those within a length in feet and inches or a no-break one, which it shows
// as a plain one; every line but the first begins with `indent` spaces. The first is taken to
// begin at that column already.
[[nodiscard]] std::string wrapped(const std::string& text, std::size_t indent);
// Names of programs as words: "old_glue_removed" without its underscores.
[[nodiscard]] std::string spaced(std::string name);
[[nodiscard]] std::string fixed(double value, int digits);

// "NOT READY" and the like.
[[nodiscard]] std::string verdict_banner(analysis::readiness::Verdict verdict);

// "room air RH" and the like.
[[nodiscard]] std::string role_text(analysis::base::ChannelRole role);

struct RoomHeading {
  std::string name;
  std::string id;
  double floor_area_m2 = 0.0;  // 0 = not shown
  std::string floor_product;   // may be empty
};
// "Hall (hall), 12.5 m², Laminate 8 mm", wrapped and underlined.
[[nodiscard]] std::string heading_text(const RoomHeading& heading, bool imperial);

// First line of everything about a simulated job; empty otherwise.
[[nodiscard]] std::string simulated_line(bool simulated);

}  // namespace logger::app
