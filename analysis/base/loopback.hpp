// Which names and addresses are this machine's own.
#pragma once

#include <algorithm>
#include <string_view>

namespace analysis::base {

// "localhost", 127.0.0.0/8, ::1; without brackets. All four numbers are asked for, so that a name
// that only begins like an address is none.
[[nodiscard]] inline bool is_loopback(std::string_view host) {
  if (host == "localhost" || host == "::1") {
    return true;
  }
  return host.starts_with("127.") && std::count(host.begin(), host.end(), '.') == 3 &&
         std::all_of(host.begin(), host.end(),
                     [](char c) { return c == '.' || (c >= '0' && c <= '9'); });
}

}  // namespace analysis::base
