// Members of JSON objects that came from outside. Internal to this folder.
#pragma once

#include <nlohmann/json.hpp>
#include <string>

namespace analysis::evidence {

// The text of a string member; empty when it is missing or no string.
inline std::string text_member(const nlohmann::json& object, const char* name) {
  const auto found = object.find(name);
  return found != object.end() && found->is_string() ? found->get<std::string>() : std::string();
}

}  // namespace analysis::evidence
