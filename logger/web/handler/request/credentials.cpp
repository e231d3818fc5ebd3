#include "logger/web/handler/request/credentials.hpp"

#include <algorithm>

namespace logger::web {

namespace {

constexpr std::size_t kLongestSecret = 512;

bool same_without_case(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [](char x, char y) { return (x | 0x20) == (y | 0x20); });
}

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) {
    text.remove_prefix(1);
  }
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t')) {
    text.remove_suffix(1);
  }
  return text;
}

std::string session_in(std::string_view cookies) {
  while (!cookies.empty()) {
    const std::size_t end = std::min(cookies.find(';'), cookies.size());
    const std::string_view cookie = trimmed(cookies.substr(0, end));
    if (cookie.size() > kSessionCookie.size() && cookie.starts_with(kSessionCookie) &&
        cookie[kSessionCookie.size()] == '=') {
      return std::string(cookie.substr(kSessionCookie.size() + 1));
    }
    cookies.remove_prefix(std::min(end + 1, cookies.size()));
  }
  return {};
}

std::string bearer_in(std::string_view authorization) {
  constexpr std::string_view kScheme = "bearer ";
  if (authorization.size() <= kScheme.size() ||
      !same_without_case(authorization.substr(0, kScheme.size()), kScheme)) {
    return {};
  }
  return std::string(trimmed(authorization.substr(kScheme.size())));
}

}  // namespace

Credentials credentials_of(const Request& request) {
  Credentials credentials;
  if (const std::string* authorization = header_of(request, "authorization")) {
    credentials.bearer_token = bearer_in(trimmed(*authorization));
  } else {
    for (const Header& header : request.headers) {
      if (header.name == "cookie" && credentials.session_cookie.empty()) {
        credentials.session_cookie = session_in(header.value);
      }
    }
  }
  if (credentials.bearer_token.size() > kLongestSecret ||
      credentials.session_cookie.size() > kLongestSecret) {
    return {};
  }
  return credentials;
}

Sender sender_of(const Request& request) {
  const std::string* site = header_of(request, "sec-fetch-site");
  const std::string* origin = header_of(request, "origin");
  const std::string* host = header_of(request, "host");
  if (site != nullptr && *site != "same-origin" && *site != "none") {
    return Sender::elsewhere;
  }
  if (origin != nullptr) {
    const std::string scheme = request.over_tls ? "https://" : "http://";
    return host != nullptr && !host->empty() && same_without_case(*origin, scheme + *host)
               ? Sender::own_page
               : Sender::elsewhere;
  }
  return site != nullptr ? Sender::own_page : Sender::nobody_said;
}

bool came_by_foreign_link(const Request& request) {
  const std::string* site = header_of(request, "sec-fetch-site");
  const std::string* mode = header_of(request, "sec-fetch-mode");
  return site != nullptr && (*site == "cross-site" || *site == "same-site") && mode != nullptr &&
         *mode == "navigate";
}

bool same_secret(std::string_view given, std::string_view expected) {
  if (expected.empty() || given.size() != expected.size()) {
    return false;
  }
  unsigned difference = 0;
  for (std::size_t i = 0; i < given.size(); ++i) {
    difference |= static_cast<unsigned>(given[i] ^ expected[i]) & 0xFFU;
  }
  return difference == 0;
}

std::string session_cookie_line(const std::string& value, bool over_tls, Micros lifetime) {
  const auto lifetime_s = std::chrono::duration_cast<std::chrono::seconds>(lifetime).count();
  return std::string(kSessionCookie) + '=' + value + "; Path=/; Max-Age=" +
         std::to_string(std::max<std::int64_t>(value.empty() ? 0 : lifetime_s, 0)) +
         "; HttpOnly; SameSite=Strict" + (over_tls ? "; Secure" : "");
}

}  // namespace logger::web
