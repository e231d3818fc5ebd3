// JSON as the store's text columns and the messages for programs hold it.
#pragma once

#include <nlohmann/json.hpp>
#include <string>

namespace logger::store {

// One line. Bytes that are no UTF-8 are replaced, since dump() would throw on them.
[[nodiscard]] inline std::string json_line(const nlohmann::json& value) {
  return value.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

// The text of a member; empty where it is absent or of another kind.
template <class Json>
[[nodiscard]] std::string text_in(const Json& object, const char* key) {
  const auto found = object.find(key);
  return found != object.end() && found->is_string() ? found->template get<std::string>()
                                                     : std::string();
}

}  // namespace logger::store
