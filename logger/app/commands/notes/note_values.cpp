#include "logger/app/commands/notes/note_values.hpp"

#include <charconv>

#include "analysis/readiness/reason_texts.hpp"

namespace logger::app {

using store::ErrorCode;
using store::failure;
using store::Result;

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view kBlanks = " \t\r";
  const auto first = text.find_first_not_of(kBlanks);
  return first == std::string_view::npos
             ? std::string_view()
             : text.substr(first, text.find_last_not_of(kBlanks) - first + 1);
}

std::vector<std::string_view> note_parts(std::string_view text, char separator) {
  std::vector<std::string_view> parts;
  while (true) {
    const std::size_t place = text.find(separator);
    parts.push_back(text.substr(0, place));
    if (place == std::string_view::npos) {
      return parts;
    }
    text.remove_prefix(place + 1);
  }
}

Result<double> checked_note_value(const std::string& option, double value, const NoteRange& range) {
  if (value >= range.low && value <= range.high) {
    return value;
  }
  using analysis::readiness::text_as_entered;
  return failure(ErrorCode::invalid_input, option + ": " + range.name + " " +
                                               text_as_entered(value) + " " + range.unit +
                                               "; expected " + text_as_entered(range.low) + " to " +
                                               text_as_entered(range.high) + " " + range.unit);
}

Result<double> note_number(const std::string& option, std::string_view text,
                           const NoteRange& range) {
  double value = 0.0;
  const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (fault != std::errc() || end != text.data() + text.size()) {
    return failure(ErrorCode::invalid_input, option + ": `" + std::string(text) +
                                                 "` is no number; expected the " + range.name +
                                                 " in " + range.unit);
  }
  return checked_note_value(option, value, range);
}

}  // namespace logger::app
