#include "logger/app/text/terminal_text.hpp"

#include <algorithm>
#include <array>
#include <cstdio>
#include <sstream>
#include <string_view>

#include "analysis/plan/room/length_text.hpp"

namespace logger::app {

std::size_t columns_of(const std::string& text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xc0U) != 0x80U;
  }));
}

std::string padded(const std::string& text, std::size_t width) {
  const std::size_t used = columns_of(text);
  return used < width ? text + std::string(width - used, ' ') : text;
}

std::string wrapped(const std::string& text, std::size_t indent) {
  std::istringstream words(analysis::plan::lengths_held_in(text));
  std::string word;
  std::string result;
  std::size_t used = indent;
  while (words >> word) {
    const std::size_t width = columns_of(word);
    if (used > indent && used + 1 + width > kTerminalWidth) {
      result += '\n' + std::string(indent, ' ');
      used = indent;
    } else if (used > indent) {
      result += ' ';
      ++used;
    }
    result += word;
    used += width;
  }
  constexpr std::string_view kHeld = "\u00a0";
  for (auto at = result.find(kHeld); at != std::string::npos; at = result.find(kHeld, at)) {
    result.erase(at, kHeld.size() - 1);  // replace() trips -Wrestrict of g++ 12
    result[at] = ' ';
  }
  return result;
}

std::string spaced(std::string name) {
  std::replace(name.begin(), name.end(), '_', ' ');
  return name;
}

std::string fixed(double value, int digits) {
  std::array<char, 64> buffer{};
  std::snprintf(buffer.data(), buffer.size(), "%.*f", digits, value);
  return buffer.data();
}

std::string verdict_banner(analysis::readiness::Verdict verdict) {
  std::string word(name_of(verdict));
  std::transform(word.begin(), word.end(), word.begin(),
                 [](char c) { return c >= 'a' && c <= 'z' ? static_cast<char>(c - 32) : c; });
  return word;
}

std::string role_text(analysis::base::ChannelRole role) {
  std::string text(name_of(role));
  std::replace(text.begin(), text.end(), '_', ' ');
  if (text.ends_with(" rh")) {
    text.replace(text.size() - 2, 2, "RH");
  }
  return text;
}

std::string heading_text(const RoomHeading& heading, bool imperial) {
  constexpr double kSquareFeet = 10.76391;  // in a square metre
  std::string title = heading.name + " (" + heading.id + ")";
  if (heading.floor_area_m2 > 0.0) {
    title += imperial ? ", " + fixed(heading.floor_area_m2 * kSquareFeet, 0) + " ft²"
                      : ", " + fixed(heading.floor_area_m2, 1) + " m²";
  }
  if (!heading.floor_product.empty()) {
    title += ", " + heading.floor_product;
  }
  return wrapped(title, 0) + '\n' + std::string(kTerminalWidth, '-') + '\n';
}

std::string simulated_line(bool simulated) {
  return simulated ? "SIMULATED SITE: not readings of a real place\n" : "";
}

}  // namespace logger::app
