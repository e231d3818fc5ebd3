// The description of the API (OpenAPI 3.1), openapi.json of this folder, embedded when it is built.
#pragma once

#include <string_view>

namespace logger::web {

[[nodiscard]] std::string_view openapi_json();

}  // namespace logger::web
