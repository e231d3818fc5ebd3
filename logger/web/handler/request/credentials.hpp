// What a request brings to be believed: session cookie or bearer token, and the signs that a change
// was asked for by our own page (CSRF token, origin). Pure.
#pragma once

#include <string>
#include <string_view>

#include "logger/web/access/access.hpp"
#include "logger/web/http/http_message.hpp"

namespace logger::web {

constexpr std::string_view kSessionCookie = "dwellog_session";

// An authorization header, good or not, hides the cookie: a program says who it is itself.
[[nodiscard]] Credentials credentials_of(const Request& request);

// What a browser says of the page that sent the request (Fetch Metadata; RFC 6454, section 7).
enum class Sender {
  own_page,
  nobody_said,  // neither Origin nor Sec-Fetch-Site: no browser of today
  elsewhere,    // one of both names another site
};
[[nodiscard]] Sender sender_of(const Request& request);
// A link on another site or in a message was followed: cookies of SameSite=Strict stay away.
[[nodiscard]] bool came_by_foreign_link(const Request& request);

// Constant time in the contents. False when `expected` is empty.
[[nodiscard]] bool same_secret(std::string_view given, std::string_view expected);

// The cookie's line for set-cookie; an empty value takes the cookie away.
[[nodiscard]] std::string session_cookie_line(const std::string& value, bool over_tls,
                                              Micros lifetime);

}  // namespace logger::web
