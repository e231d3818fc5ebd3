// One HTTP or HTTPS request with limits of time and size. Blocks; for a worker thread. Waiting for
// a server is I/O, so its limit is real monotonic time and not the logger's clock.
#pragma once

#include <stop_token>
#include <string>
#include <string_view>

#include "logger/store/error.hpp"
#include "logger/transfer/transfer_limits.hpp"

namespace logger::anchor {

using HttpLimits = transfer::TransferLimits;

struct HttpPost {
  std::string url;  // http:// or https://
  std::string content_type;
  std::string expected_type;  // of the answer, without parameters
  std::string body;
  HttpLimits limits{};
};

// The body of an answer with status 200 and the expected type. Certificates of servers are checked
// against those that the system trusts; a redirection is followed, three times at most, from http
// to http or https, from https to https alone. Errors, one line with the URL: invalid_input (a URL
// of another kind), timeout, unavailable (no connection, another status, another type, too long,
// stopped).
[[nodiscard]] store::Result<std::string> post(const HttpPost& request,
                                              const std::stop_token& stop = {});

}  // namespace logger::anchor
