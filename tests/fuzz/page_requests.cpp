// Fuzz target: requests of any method, address, header and body, by people of every role and by
// nobody, through the real PageHandler and Access over a site that only remembers. What the site
// was asked for, and not what the handler's own table says, judges whether somebody had the right.
#include <array>
#include <nlohmann/json.hpp>

#include "tests/fuzz/fuzz_target.hpp"
#include "tests/web/web_rig.hpp"

namespace web_tests {
namespace {

using fuzz::require;

enum class Identity { nobody, token, cookie, cookie_without_sign, cookie_from_elsewhere };

struct Who {
  std::optional<Role> role;
  Identity by = Identity::nobody;
};

constexpr std::array<const char*, 24> kTargets{"/",
                                               "/login",
                                               "/logout",
                                               "/events",
                                               "/metrics",
                                               "/s/",
                                               "/assets/page.css",
                                               "/assets/",
                                               "/api/v1/status",
                                               "/api/v1/openapi.json",
                                               "/api/v1/rooms/living/series?",
                                               "/api/v1/rooms/living/series?channel=a&limit=",
                                               "/api/v1/rooms/living/charts/core.svg?hours=",
                                               "/api/v1/rooms/",
                                               "/api/v1/alerts/acknowledge",
                                               "/api/v1/notes",
                                               "/api/v1/notes?before=1&limit=",
                                               "/api/v1/photos",
                                               "/api/v1/photos/",
                                               "/api/v1/certificates",
                                               "/api/v1/certificates/C-1/",
                                               "/api/v1/links",
                                               "/api/v1/audit?limit=",
                                               ""};
constexpr std::array<const char*, 8> kMethods{"GET", "POST",  "HEAD",    "DELETE",
                                              "PUT", "PATCH", "OPTIONS", ""};
constexpr std::array<const char*, 8> kBodies{R"({"kind":"remark","remark":")",
                                             R"({"key":"climate/living/out-of-band","remark":")",
                                             R"({"hours":"24","label":")",
                                             "name=invented+crew&password=",
                                             "csrf_token=",
                                             R"({"kind":"gate","photos":[")",
                                             R"({"kind":"gate","at_utc":")",
                                             ""};
constexpr std::array<const char*, 8> kHeaders{"accept-encoding", "if-none-match", "content-type",
                                              "cookie",          "authorization", "origin",
                                              "sec-fetch-site",  "last-event-id"};

HandlerSettings without_limits() {
  constexpr Allowance kAny{1e12, 1e12};
  HandlerSettings settings;
  settings.per_address = kAny;
  settings.per_principal = kAny;
  settings.per_stranger = kAny;
  return settings;
}

std::string text_from(fuzz::ByteSource& input, std::size_t most) {
  const auto bytes = input.take(std::min<std::size_t>(input.u8(), most));
  return {bytes.begin(), bytes.end()};
}

// One of a list with something behind it.
template <std::size_t N>
std::string with_tail(const std::array<const char*, N>& list, fuzz::ByteSource& input) {
  const std::uint8_t pick = input.u8();
  return list[pick % N] + text_from(input, pick < 128 ? 0U : 80U);
}

Who who_from(fuzz::ByteSource& input) {
  constexpr std::array kRoles{Role::shared, Role::viewer, Role::crew, Role::owner};
  const std::uint8_t pick = input.u8();
  const auto by = static_cast<Identity>(pick % 5U);
  if (by == Identity::nobody) {
    return {};
  }
  const Role role = kRoles[pick / 5U % 4U];
  return {role, role == Role::shared && by == Identity::token ? Identity::cookie : by};
}

void add_identity(const WebRig& rig, const Who& who, Request& request) {
  if (!who.role) {
    return;
  }
  const Person& person = rig.person(*who.role);
  if (who.by == Identity::token) {
    request.headers.push_back({"authorization", "Bearer " + person.token});
    return;
  }
  request.headers.push_back({"cookie", "dwellog_session=" + person.cookie});
  // Leaving would end the session for all later inputs.
  if (who.by != Identity::cookie_without_sign && request.target.find("/logout") != 0) {
    request.headers.push_back({"x-csrf-token", person.csrf});
  }
  const bool own = who.by != Identity::cookie_from_elsewhere;
  request.headers.push_back(
      {"origin", own ? "http://logger.example:8460" : "https://elsewhere.example"});
}

Request request_from(const WebRig& rig, const Who& who, fuzz::ByteSource& input) {
  Request request = rig.request({});
  request.method = with_tail(kMethods, input);
  request.target = with_tail(kTargets, input);
  const std::uint8_t more = input.u8();
  request.over_tls = more % 2U == 1;
  constexpr std::array kFaults{0, 0, 0, 0, 400, 413, 431, 503};
  request.fault = kFaults[more / 2U % 8U];
  // What it brings to be believed comes first, so that headers of the input can't hide it.
  add_identity(rig, who, request);
  for (int i = more / 16U % 4U; i > 0; --i) {
    std::string name = with_tail(kHeaders, input);
    request.headers.push_back({std::move(name), text_from(input, 60)});
  }
  if (more >= 128) {
    request.headers.push_back({"content-type", "application/json"});
  }
  request.body = with_tail(kBodies, input) + text_from(input, 200);
  return request;
}

// The least role that may bring the site to this; by name, independent of any route.
Role least_for(const std::string& call) {
  const std::string what = call.substr(0, call.find(' '));
  if (what == "chart") {
    return Role::shared;
  }
  if (what == "note" || what == "keep" || what == "acknowledge") {
    return Role::crew;
  }
  return what == "audit" ? Role::owner : Role::viewer;
}

void judge_rights(const WebRig& rig, const Who& who, const Request& request,
                  const Response& response) {
  for (const std::string& call : rig.site.calls) {
    const Role least = least_for(call);
    require(who.role && *who.role >= least, "the site is asked only for those with the right");
    const bool changes = least == Role::crew;
    require(!changes || who.by == Identity::token || who.by == Identity::cookie,
            "a change by cookie needs its signs");
  }
  if (response.status / 100 != 2 || who.role) {
    return;
  }
  const bool is_public = request.target.starts_with("/login") ||
                         request.target.starts_with("/assets/") ||
                         response.body.find("http-equiv=\"refresh\"") != std::string::npos;
  require(is_public, "nobody gets nothing but what is public");
}

void judge_form(const Response& response) {
  constexpr std::array<const char*, 5> kAlways{"content-security-policy", "x-content-type-options",
                                               "referrer-policy", "cache-control",
                                               "cross-origin-resource-policy"};
  for (const char* name : kAlways) {
    require(!header_in(response, name).empty(), "every answer has the headers of safety");
  }
  for (const Header& header : response.headers) {
    for (const char c : header.name + header.value) {
      require(static_cast<unsigned char>(c) >= 0x20 && c != 0x7F,
              "no header has a control character");
    }
  }
  require(response.status >= 200 && response.status < 600, "a status is one of HTTP");
  require(response.status < 400 || response.status == 401 || response.status == 429 ||
              header_in(response, "set-cookie").empty(),
          "a refusal gives no session");
  if (header_in(response, "content-type") == "application/problem+json" &&
      header_in(response, "content-encoding").empty()) {
    require(nlohmann::json::accept(response.body), "a problem is JSON");
  }
}

}  // namespace
}  // namespace web_tests

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace web_tests;
  using fuzz::require;
  static WebRig rig{without_limits()};
  fuzz::ByteSource input({data, size});
  const Who who = who_from(input);
  rig.site.calls.clear();
  rig.site.audited.clear();
  rig.site.noted.clear();
  const Request request = request_from(rig, who, input);
  require(rig.handler->body_limit(request) == RequestHandler::kSmallBody ||
              (who.role && *who.role >= Role::crew),
          "room for a photo is for those who may send one");
  const Response response = rig.send(request);
  judge_rights(rig, who, request, response);
  judge_form(response);
  rig.loop.forget();
  return 0;
}
