#include "logger/web/handler/routes.hpp"

#include <array>

#include "logger/web/handler/actions/work.hpp"

namespace logger::web {

namespace {

constexpr std::size_t kPhotoBytes = std::size_t{20} << 20U;

constexpr std::array kRoutes = {
    RouteRule{"GET", "/login", {}, Quick::login_page},
    RouteRule{"POST", "/login", {}, Quick::none, log_in},
    RouteRule{"GET", "/s/*", {}, Quick::none, open_share_link},
    RouteRule{"GET", "/assets/*", {}, Quick::asset},
    RouteRule{"GET", "/", Role::shared, Quick::page},
    RouteRule{"POST", "/logout", Role::shared, Quick::log_out},
    RouteRule{"GET", "/events", Role::shared, Quick::events},
    RouteRule{"GET", "/metrics", Role::viewer, Quick::none, metrics},
    RouteRule{"GET", "/api/v1/status", Role::shared, Quick::status},
    RouteRule{"GET", "/api/v1/openapi.json", Role::viewer, Quick::openapi},
    RouteRule{"GET", "/api/v1/rooms/*/series", Role::viewer, Quick::none, series},
    RouteRule{"GET", "/api/v1/rooms/*/charts/*", Role::shared, Quick::none, chart},
    RouteRule{"GET", "/api/v1/questions", Role::crew, Quick::none, questions},
    RouteRule{"POST", "/api/v1/alerts/acknowledge", Role::crew, Quick::none, acknowledge},
    RouteRule{"GET", "/api/v1/notes", Role::viewer, Quick::none, notes},
    RouteRule{"POST", "/api/v1/notes", Role::crew, Quick::none, add_note},
    RouteRule{"POST", "/api/v1/photos", Role::crew, Quick::none, keep_photo, kPhotoBytes},
    RouteRule{"GET", "/api/v1/photos/*", Role::viewer, Quick::none, photo},
    RouteRule{"GET", "/api/v1/certificates", Role::viewer, Quick::none, certificates},
    RouteRule{"GET", "/api/v1/certificates/*/*", Role::viewer, Quick::none, certificate_file},
    RouteRule{"GET", "/api/v1/links", Role::owner, Quick::none, links},
    RouteRule{"POST", "/api/v1/links", Role::owner, Quick::none, make_link},
    RouteRule{"DELETE", "/api/v1/links/*", Role::owner, Quick::none, withdraw_link},
    RouteRule{"GET", "/api/v1/audit", Role::owner, Quick::none, audit},
};

bool fits(std::string_view pattern, const std::vector<std::string>& segments,
          std::vector<std::string>& captured) {
  captured.clear();
  pattern.remove_prefix(1);
  for (const std::string& segment : segments) {
    const std::string_view expected = pattern.substr(0, pattern.find('/'));
    if (expected == "*") {
      captured.push_back(segment);
    } else if (pattern.empty() || expected != segment) {
      return false;
    }
    pattern.remove_prefix(std::min(expected.size() + 1, pattern.size()));
  }
  return pattern.empty();
}

}  // namespace

std::span<const RouteRule> all_routes() { return kRoutes; }

RouteMatch route_of(std::string_view method, const std::vector<std::string>& segments) {
  const std::string_view meant = method == "HEAD" ? "GET" : method;
  RouteMatch match;
  for (const RouteRule& rule : kRoutes) {
    if (!fits(rule.pattern, segments, match.captured)) {
      continue;
    }
    if (rule.method == meant) {
      match.rule = &rule;
      return match;
    }
    match.allowed.append(match.allowed.empty() ? "" : ", ").append(rule.method);
  }
  match.captured.clear();
  return match;
}

}  // namespace logger::web
