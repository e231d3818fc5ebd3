// What there is to choose from, for a refusal.
#pragma once

#include <functional>
#include <string>

namespace logger::app {

// "hall, kitchen": `name` (a member or a function) of each, in order.
template <class Range, class Name>
[[nodiscard]] std::string listed(const Range& range, Name name) {
  std::string text;
  for (const auto& each : range) {
    text += (text.empty() ? "" : ", ") + std::string(std::invoke(name, each));
  }
  return text;
}

}  // namespace logger::app
