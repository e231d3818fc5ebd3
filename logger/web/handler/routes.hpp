// Which method and path does what, and the right each needs. Pure data.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "logger/web/access/access.hpp"
#include "logger/web/handler/request/target.hpp"
#include "logger/web/http/http_message.hpp"
#include "logger/web/site/site.hpp"

namespace logger::web {

// What the handler does itself, on the server's thread; all else is work for the worker.
enum class Quick { none, login_page, asset, page, log_out, events, status, openapi };

struct RouteRule;

// One request on its way, with all that is known of it.
struct Call {
  Request request;
  Answer answer;
  Target target{};
  const RouteRule* rule = nullptr;
  std::vector<std::string> captured{};  // what stands in the place of each '*'
  std::optional<Identified> who{};
};

// What the worker may use.
struct Services {
  Access& access;
  Site& site;
};
using Work = Response (*)(Services& services, const Call& call);

struct RouteRule {
  std::string_view method;    // "GET" stands for HEAD too
  std::string_view pattern;   // "/api/v1/rooms/*/series"
  std::optional<Role> least;  // nullopt = public
  Quick quick = Quick::none;
  Work work = nullptr;  // where quick is none
  std::size_t most_body = RequestHandler::kSmallBody;
};

[[nodiscard]] std::span<const RouteRule> all_routes();

// The rule of a request, what its '*' stand for, and, where no rule fits, the methods that the path
// has ("GET, POST"; empty: no such path).
struct RouteMatch {
  const RouteRule* rule = nullptr;
  std::vector<std::string> captured{};
  std::string allowed{};
};
[[nodiscard]] RouteMatch route_of(std::string_view method,
                                  const std::vector<std::string>& segments);

}  // namespace logger::web
