// Texts of others on one line.
#pragma once

#include <algorithm>
#include <string>

namespace analysis::base {

// ASCII control characters become blanks; blanks at the end go.
[[nodiscard]] inline std::string one_line(std::string text) {
  std::ranges::replace_if(
      text, [](unsigned char byte) { return byte < 0x20 || byte == 0x7f; }, ' ');
  text.erase(text.find_last_not_of(' ') + 1);
  return text;
}

}  // namespace analysis::base
