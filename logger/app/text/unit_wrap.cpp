#include "logger/app/text/unit_wrap.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <sstream>
#include <string_view>

#include "logger/app/text/terminal_text.hpp"

namespace logger::app {
namespace {

// What wrapping must not part, held together by a blank that is none to it.
constexpr std::string_view kJoint = "\u00a0";

bool is_unit(std::string_view word) {
  static constexpr std::array<std::string_view, 24> kUnits{
      "%", "%RH",  "CM-%", "K",     "°C", "°F",  "mm",  "cm",    "m",  "in",  "ft",    "m2",
      "h", "days", "day",  "years", "l",  "gal", "kPa", "kg/m2", "m²", "ft²", "kg/m²", "lb/ft²"};
  const auto end = word.find_last_not_of(".,;:)");
  word = word.substr(0, end == std::string_view::npos ? 0 : end + 1);
  return std::find(kUnits.begin(), kUnits.end(), word) != kUnits.end();
}
bool is_number(std::string_view word) {
  return !word.empty() && std::isdigit(static_cast<unsigned char>(word.back())) != 0;
}

}  // namespace

std::string wrapped_with_units(const std::string& text, std::size_t indent) {
  std::istringstream words(text);
  std::string word, before, joined;
  while (words >> word) {
    const bool together = before == "±" || (is_number(before) && is_unit(word));
    joined += (joined.empty() ? "" : together ? std::string(kJoint) : " ") + word;
    before = word;
  }
  return wrapped(joined, indent);
}

}  // namespace logger::app
