#include "logger/web/http/http_message.hpp"

#include <algorithm>

namespace logger::web {

const std::string* header_of(const Request& request, std::string_view name) {
  const auto found = std::find_if(request.headers.begin(), request.headers.end(),
                                  [&](const Header& header) { return header.name == name; });
  return found == request.headers.end() ? nullptr : &found->value;
}

}  // namespace logger::web
