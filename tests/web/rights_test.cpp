// Who may do what: every route with every role, and what those learn who may not.
#include <catch2/catch.hpp>

#include "tests/web/web_rig.hpp"

namespace web_tests {
namespace {

const std::string kJson = R"({"kind":"remark","remark":"invented"})";

// A request for each route that is good in everything but perhaps the right. The link s2 is there
// once an owner made one.
Asked good_request(const RouteRule& rule, const std::string& in_place_of_star = {}) {
  static const std::map<std::string_view, std::vector<std::string>> kStars = {
      {"/s/*", {"no-such-link"}},
      {"/assets/*", {"page.css"}},
      {"/api/v1/rooms/*/series", {"living"}},
      {"/api/v1/rooms/*/charts/*", {"living", "core.svg"}},
      {"/api/v1/photos/*", {kPhotoDigest}},
      {"/api/v1/certificates/*/*", {"C-1", "json"}},
      {"/api/v1/links/*", {"s2"}}};
  static const std::map<std::string_view, std::string> kBodies = {
      {"/api/v1/alerts/acknowledge", R"({"key":"climate/living/out-of-band"})"},
      {"/api/v1/notes", kJson},
      {"/api/v1/photos", "picture"},
      {"/api/v1/links", R"({"hours":24})"},
      {"/login", "name=nobody&password=none"}};
  Asked asked{std::string(rule.method), {}};
  const auto stars = kStars.find(rule.pattern);
  std::size_t star = 0;
  for (const char c : rule.pattern) {
    asked.target += c == '*'
                        ? (in_place_of_star.empty() ? stars->second.at(star++) : in_place_of_star)
                        : std::string(1, c);
  }
  if (rule.method == "POST" && kBodies.count(rule.pattern) != 0) {
    asked.body = kBodies.at(rule.pattern);
    asked.headers.push_back({"content-type", "application/json"});
  }
  return asked;
}

std::vector<std::optional<Role>> everybody() {
  return {std::nullopt, Role::shared, Role::viewer, Role::crew, Role::owner};
}

}  // namespace

TEST_CASE("EveryRouteServesThoseWithItsRightAndNobodyElse") {
  REQUIRE(all_routes().size() == 24);
  WebRig rig;
  for (const RouteRule& rule : all_routes()) {
    for (const auto& who : everybody()) {
      if (rule.pattern == "/logout" && who) {
        continue;  // ends the session; has a test of its own
      }
      rig.renew();
      const Response response = rig.ask(who, good_request(rule));
      INFO(rule.method << " " << rule.pattern << " by "
                       << (who ? name_of(*who) : std::string_view("nobody")) << ": "
                       << response.status << " " << response.body);
      if (!rule.least) {
        CHECK(response.status != 403);
        CHECK(response.status < 500);
      } else if (!who) {
        CHECK(response.status == (rule.pattern == "/" ? 303 : 401));
        CHECK(rig.site.calls.empty());
      } else if (*who < *rule.least) {
        CHECK(response.status == 403);
        CHECK(rig.site.calls.empty());
        CHECK(rig.site.audited.size() == 1);
        CHECK(rig.site.audited.at(0).action == "refused");
      } else {
        CHECK(response.status / 100 == 2);
      }
    }
  }
}

TEST_CASE("TheRightsOfEachRouteAreThoseOfTheDesign") {
  const std::map<std::string, std::optional<Role>> expected = {
      {"GET /login", std::nullopt},
      {"POST /login", std::nullopt},
      {"GET /s/*", std::nullopt},
      {"GET /assets/*", std::nullopt},
      {"GET /", Role::shared},
      {"POST /logout", Role::shared},
      {"GET /events", Role::shared},
      {"GET /metrics", Role::viewer},
      {"GET /api/v1/status", Role::shared},
      {"GET /api/v1/openapi.json", Role::viewer},
      {"GET /api/v1/rooms/*/series", Role::viewer},
      {"GET /api/v1/rooms/*/charts/*", Role::shared},
      {"POST /api/v1/alerts/acknowledge", Role::crew},
      {"GET /api/v1/questions", Role::crew},
      {"GET /api/v1/notes", Role::viewer},
      {"POST /api/v1/notes", Role::crew},
      {"POST /api/v1/photos", Role::crew},
      {"GET /api/v1/photos/*", Role::viewer},
      {"GET /api/v1/certificates", Role::viewer},
      {"GET /api/v1/certificates/*/*", Role::viewer},
      {"GET /api/v1/links", Role::owner},
      {"POST /api/v1/links", Role::owner},
      {"DELETE /api/v1/links/*", Role::owner},
      {"GET /api/v1/audit", Role::owner}};
  std::map<std::string, std::optional<Role>> actual;
  for (const RouteRule& rule : all_routes()) {
    actual[std::string(rule.method) + " " + std::string(rule.pattern)] = rule.least;
  }
  CHECK((actual == expected));
}

TEST_CASE("WhoHasNoRightLearnsNothingOfWhatThereIs") {
  WebRig rig;
  // The same bytes for a room there is, one there is not, a path there is not, a wrong method.
  for (const RouteRule& rule : all_routes()) {
    if (!rule.least || rule.pattern == "/") {
      continue;
    }
    rig.renew();
    const Asked there = good_request(rule);
    const std::vector<Asked> others = {good_request(rule, "no-such-thing"),
                                       {"GET", "/api/v1/no-such-path"},
                                       {"PATCH", there.target},
                                       {"GET", "/api/v1/rooms/living"}};
    const Response refused = rig.ask(std::nullopt, there);
    for (const Asked& other : others) {
      const Response same = rig.ask(std::nullopt, other);
      INFO(rule.pattern << " against " << other.method << " " << other.target);
      CHECK(same.status == 401);
      CHECK(same.body == refused.body);
      CHECK(same.headers.size() == refused.headers.size());
    }
  }
  rig.renew();
  const Response notes = rig.ask(Role::shared, {"GET", "/api/v1/notes"});
  for (const char* target : {"/api/v1/photos/0", "/api/v1/rooms/living/series", "/api/v1/nothing",
                             "/metrics", "/api/v1/rooms/attic/series"}) {
    const Response same = rig.ask(Role::shared, {"GET", target});
    CHECK(same.status == 403);
    CHECK(same.body == notes.body);
  }
}

TEST_CASE("WhoMaySeeAllIsToldWhatIsMissing") {
  WebRig rig;
  CHECK(rig.ask(Role::viewer, {"GET", "/api/v1/rooms/attic/series"}).status == 404);
  CHECK(rig.ask(Role::viewer, {"GET", "/api/v1/rooms/living/charts/core.png"}).status == 404);
  CHECK(rig.ask(Role::viewer, {"GET", "/api/v1/nothing"}).status == 404);
  CHECK(rig.ask(std::nullopt, {"GET", "/assets/no-such-file.css"}).status == 404);
  const Response wrong_method = rig.ask(Role::viewer, {"DELETE", "/api/v1/notes"});
  CHECK(wrong_method.status == 405);
  CHECK(header_in(wrong_method, "allow") == "GET, POST");
}

TEST_CASE("AShareLinkSeesTheStatusWithoutNames") {
  WebRig rig;
  const Response shared = rig.ask(Role::shared, {"GET", "/api/v1/status"});
  const Response full = rig.ask(Role::viewer, {"GET", "/api/v1/status"});
  CHECK(shared.body.find("An Invented Name") == std::string::npos);
  CHECK(full.body.find("An Invented Name") != std::string::npos);
  CHECK(header_in(shared, "etag") != header_in(full, "etag"));
  const Response page = rig.ask(Role::shared, {"GET", "/"});
  CHECK(page.body.find("An Invented Name") == std::string::npos);
  CHECK(page.body.find("Living room") != std::string::npos);
}

TEST_CASE("OnlyWhoMaySendPhotosGetsRoomForThem") {
  WebRig rig;
  const auto limit = [&](std::optional<Role> who, const std::string& target, bool token_spoilt) {
    Asked asked{"POST", target};
    if (who) {
      asked.headers.push_back(
          {"authorization", "Bearer " + rig.person(*who).token + (token_spoilt ? "x" : "")});
    }
    return rig.handler->body_limit(rig.request(asked));
  };
  CHECK(limit(Role::crew, "/api/v1/photos", false) == 20U * 1024 * 1024);
  CHECK(limit(Role::owner, "/api/v1/photos", false) == 20U * 1024 * 1024);
  CHECK(limit(Role::viewer, "/api/v1/photos", false) == RequestHandler::kSmallBody);
  CHECK(limit(std::nullopt, "/api/v1/photos", false) == RequestHandler::kSmallBody);
  CHECK(limit(Role::crew, "/api/v1/photos", true) == RequestHandler::kSmallBody);
  CHECK(limit(Role::crew, "/api/v1/notes", false) == RequestHandler::kSmallBody);
  CHECK(limit(Role::crew, "no address", false) == RequestHandler::kSmallBody);
}

TEST_CASE("ATooLongBodyIsRefusedAfterTheRight") {
  WebRig rig;
  Request request = rig.request({"POST", "/api/v1/photos"});
  request.fault = 413;
  CHECK(rig.send(request).status == 401);
  request.headers.push_back({"authorization", "Bearer " + rig.person(Role::crew).token});
  CHECK(rig.send(request).status == 413);
  request.fault = 503;
  const Response busy = rig.send(request);
  CHECK(busy.status == 503);
  CHECK(header_in(busy, "retry-after") == "5");
}

}  // namespace web_tests
