// What is typed for a note's options, taken apart; numbers are checked. Pure; every refusal is one
// line that names the option, the value and what was expected.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "logger/store/error.hpp"

namespace logger::app {

// What a number may be, with the unit that the refusal names.
struct NoteRange {
  const char* name;
  const char* unit;
  double low;
  double high;
};

// Without the blanks round it.
[[nodiscard]] std::string_view trimmed(std::string_view text);
// One part more than there are separators.
[[nodiscard]] std::vector<std::string_view> note_parts(std::string_view text, char separator = ',');
[[nodiscard]] store::Result<double> checked_note_value(const std::string& option, double value,
                                                       const NoteRange& range);
[[nodiscard]] store::Result<double> note_number(const std::string& option, std::string_view text,
                                                const NoteRange& range);

}  // namespace logger::app
