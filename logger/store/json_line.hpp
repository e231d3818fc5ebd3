// JSON as the store's text columns and the messages for programs hold it.
#pragma once

#include <nlohmann/json.hpp>
#include <string>

namespace logger::store {

// One line. Bytes that are no UTF-8 are replaced, since dump() would throw on them.
[[nodiscard]] inline std::string json_line(const nlohmann::json& value) {
  return value.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

}  // namespace logger::store
