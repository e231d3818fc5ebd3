// Documents for programs: their text, and what may be absent in them.
#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>

namespace logger::app {

// Indented, with a line end. Bytes that are no UTF-8 are replaced, since dump() would throw on
// them.
[[nodiscard]] inline std::string text_from_document(const nlohmann::ordered_json& document) {
  return document.dump(2, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + '\n';
}

// What `write` makes of it; null where there is none.
template <class T, class Write>
[[nodiscard]] nlohmann::ordered_json or_null(const std::optional<T>& value, Write write) {
  return value ? nlohmann::ordered_json(write(*value)) : nlohmann::ordered_json(nullptr);
}
template <class T>
[[nodiscard]] nlohmann::ordered_json or_null(const std::optional<T>& value) {
  return value ? nlohmann::ordered_json(*value) : nlohmann::ordered_json(nullptr);
}

}  // namespace logger::app
