// Signing in and out, share links, and that a change was meant: cookies, CSRF tokens, origins.
#include <catch2/catch.hpp>

#include "tests/web/web_rig.hpp"

namespace web_tests {
namespace {

Asked login_form(const std::string& name, const std::string& password) {
  return {"POST",
          "/login",
          "name=" + name + "&password=" + password,
          {{"content-type", "application/x-www-form-urlencoded"}}};
}

Asked note_by_cookie(const WebRig& rig, std::vector<Header> headers) {
  headers.push_back({"cookie", "dwellog_session=" + rig.person(Role::crew).cookie});
  headers.push_back({"content-type", "application/json"});
  return {"POST", "/api/v1/notes", R"({"kind":"remark","remark":"invented"})", std::move(headers)};
}

std::string cookie_value(const std::string& line) {
  return line.substr(line.find('=') + 1, line.find(';') - line.find('=') - 1);
}

}  // namespace

TEST_CASE("APasswordGivesASessionThatTheCookieCarries") {
  WebRig rig;
  const Response in =
      rig.ask(std::nullopt, login_form("invented+crew", "password%20of%20invented+crew"));
  CHECK(in.status == 303);
  CHECK(header_in(in, "location") == "/");
  const std::string line = header_in(in, "set-cookie");
  INFO(line);
  CHECK(line.starts_with("dwellog_session="));
  CHECK(line.find("; HttpOnly") != std::string::npos);
  CHECK(line.find("; SameSite=Strict") != std::string::npos);
  CHECK(line.find("; Path=/") != std::string::npos);
  CHECK(line.find("Secure") == std::string::npos);
  CHECK(line.find("Max-Age=0") == std::string::npos);
  const Response page = rig.ask(
      std::nullopt, {"GET", "/", {}, {{"cookie", "a=b; dwellog_session=" + cookie_value(line)}}});
  CHECK(page.status == 200);
  REQUIRE(rig.site.audited.size() == 1);
  CHECK(rig.site.audited[0].action == "login");
  CHECK(rig.site.audited[0].peer_address == "192.0.2.7");
  CHECK_FALSE(rig.site.audited[0].principal_id.empty());
}

TEST_CASE("OverTlsTheCookieStaysThereAndSoDoesTheBrowser") {
  WebRig rig;
  Request request = rig.request(login_form("invented+crew", "password+of+invented+crew"));
  request.over_tls = true;
  const Response in = rig.send(request);
  CHECK(header_in(in, "set-cookie").find("; Secure") != std::string::npos);
  CHECK(header_in(in, "strict-transport-security").starts_with("max-age="));
}

TEST_CASE("AWrongPasswordGivesTheFormAgainAndAfterFiveAWait") {
  WebRig rig;
  for (int attempt = 1; attempt <= 8; ++attempt) {
    const Response refused = rig.ask(std::nullopt, login_form("invented+crew", "not+this"));
    INFO("attempt " << attempt);
    CHECK(header_in(refused, "set-cookie").empty());
    CHECK(header_in(refused, "content-type").starts_with("text/html"));
    if (attempt < 5) {
      CHECK(refused.status == 401);
    } else if (attempt > 5) {
      CHECK(refused.status == 429);
      CHECK(std::stoi(header_in(refused, "retry-after")) >= 1);
    }
  }
  CHECK(rig.site.audited.size() == 8);
  CHECK(rig.site.audited[0].action == "login-refused");
  CHECK(rig.site.audited[0].principal_id.empty());
  CHECK(rig.site.audited[0].detail.find("invented") == std::string::npos);
  CHECK(rig.ask(Role::crew, {"GET", "/api/v1/notes"}).status == 200);  // who is in stays in
}

TEST_CASE("AFormThatIsNoneIsRefused") {
  WebRig rig;
  for (const char* body : {"", "name=a", "name=a&name=b&password=c", "name=%zz&password=a"}) {
    CHECK(rig.ask(std::nullopt, {"POST", "/login", body}).status == 400);
  }
  CHECK(rig.ask(std::nullopt, login_form(std::string(5000, 'a'), "b")).status == 401);
}

TEST_CASE("SigningInIsNotForOtherSites") {
  WebRig rig;
  Asked asked = login_form("invented+crew", "password+of+invented+crew");
  asked.headers.push_back({"origin", "https://elsewhere.example"});
  const Response refused = rig.ask(std::nullopt, asked);
  CHECK(refused.status == 403);
  CHECK(header_in(refused, "set-cookie").empty());
}

TEST_CASE("OnlySoManyWaitToSignIn") {
  HandlerSettings settings;
  settings.sign_ins_waiting = 2;
  WebRig rig{settings};
  rig.loop.holds_work = true;
  std::vector<int> answered;
  const auto try_one = [&] {
    rig.send(rig.request(login_form("nobody", "none")),
             [&](const Response& response) { answered.push_back(response.status); });
  };
  try_one();
  try_one();
  CHECK(answered.empty());
  try_one();
  CHECK(answered == std::vector<int>{503});
  rig.loop.do_held_work();
  CHECK(answered == std::vector<int>{503, 401, 401});
  try_one();
  rig.loop.do_held_work();
  CHECK(answered.back() == 401);
}

TEST_CASE("LeavingEndsTheSession") {
  WebRig rig;
  const Response without = rig.ask(std::nullopt, {"POST", "/logout"});
  CHECK(without.status == 401);
  const std::string cookie = "dwellog_session=" + rig.person(Role::viewer).cookie;
  const Asked form{"POST",
                   "/logout",
                   "csrf_token=" + rig.person(Role::viewer).csrf,
                   {{"cookie", cookie}, {"origin", "http://logger.example:8460"}}};
  const Response out = rig.ask(std::nullopt, form);
  CHECK(out.status == 303);
  CHECK(header_in(out, "location") == "/login");
  CHECK(header_in(out, "set-cookie").find("Max-Age=0") != std::string::npos);
  CHECK(rig.ask(std::nullopt, {"GET", "/api/v1/notes", {}, {{"cookie", cookie}}}).status == 401);
}

TEST_CASE("WithoutASessionThePageLeadsToTheForm") {
  WebRig rig;
  const Response away = rig.ask(std::nullopt, {"GET", "/"});
  CHECK(away.status == 303);
  CHECK(header_in(away, "location") == "/login");
  const Response form = rig.ask(std::nullopt, {"GET", "/login"});
  CHECK(form.status == 200);
  CHECK(form.body.find("name=\"password\"") != std::string::npos);
}

TEST_CASE("ALinkInAMessageFindsTheSessionThatTheBrowserHolds") {
  // The cookie stays away from such a request, so the answer asks again by our own document.
  WebRig rig;
  const Response bounce =
      rig.ask(std::nullopt,
              {"GET", "/", {}, {{"sec-fetch-site", "cross-site"}, {"sec-fetch-mode", "navigate"}}});
  CHECK(bounce.status == 200);
  CHECK(bounce.body.find("content=\"0;url=/\"") != std::string::npos);
}

TEST_CASE("AShareLinkGivesASession") {
  WebRig rig;
  const Response in = rig.ask(std::nullopt, {"GET", "/s/" + rig.share_token});
  CHECK(in.status == 303);
  CHECK(header_in(in, "location") == "/");
  const std::string cookie = "dwellog_session=" + cookie_value(header_in(in, "set-cookie"));
  CHECK(rig.ask(std::nullopt, {"GET", "/api/v1/status", {}, {{"cookie", cookie}}}).status == 200);
  CHECK(rig.ask(std::nullopt, {"GET", "/api/v1/notes", {}, {{"cookie", cookie}}}).status == 403);
  const Response foreign =
      rig.ask(std::nullopt, {"GET",
                             "/s/" + rig.share_token,
                             {},
                             {{"sec-fetch-site", "cross-site"}, {"sec-fetch-mode", "navigate"}}});
  CHECK(foreign.status == 200);
  CHECK_FALSE(header_in(foreign, "set-cookie").empty());
  const Response wrong = rig.ask(std::nullopt, {"GET", "/s/no-such-link"});
  CHECK(wrong.status == 303);
  CHECK(header_in(wrong, "location") == "/login?link=ended");
  const Response form = rig.ask(std::nullopt, {"GET", "/login?link=ended"});
  CHECK(form.status == 200);
  CHECK(form.body.find("has ended or is not valid") != std::string::npos);
  const std::string plain = rig.ask(std::nullopt, {"GET", "/login"}).body;
  CHECK(plain.find("has ended") == std::string::npos);
  for (const char* other :
       {"?link=invented", "?link=", "?link=ended&link=ended", "?name=invented"}) {
    INFO(other);
    CHECK(rig.ask(std::nullopt, {"GET", std::string("/login") + other}).body == plain);
  }
}

TEST_CASE("LinksAreMadeListedAndWithdrawn") {
  WebRig rig;
  const Asked make{"POST",
                   "/api/v1/links",
                   R"({"label":"client","hours":24})",
                   {{"content-type", "application/json"}}};
  const Response made = rig.ask(Role::owner, make);
  REQUIRE(made.status == 201);
  const auto link = nlohmann::json::parse(made.body);
  CHECK(link.at("expires_at_utc") == "2026-03-03T07:00:00Z");
  const std::string path = link.at("path");
  CHECK(path == "/s/" + link.at("token").get<std::string>());
  CHECK(header_in(rig.ask(std::nullopt, {"GET", path}), "location") == "/");
  CHECK(rig.ask(Role::owner, {"GET", "/api/v1/links"}).body.find("client") != std::string::npos);
  const std::string id = link.at("id");
  CHECK(rig.ask(Role::owner, {"DELETE", "/api/v1/links/" + id}).status == 204);
  CHECK(header_in(rig.ask(std::nullopt, {"GET", path}), "location") == "/login?link=ended");
  CHECK(rig.ask(Role::owner, {"DELETE", "/api/v1/links/s99"}).status == 404);
  for (const char* body : {R"({"label":"x"})", R"({"hours":0})", R"({"hours":"24"})",
                           R"({"hours":99999})", R"({"hours":18446744073709551615})"}) {
    CHECK(rig.ask(Role::owner, {"POST", "/api/v1/links", body, make.headers}).status == 422);
  }
}

TEST_CASE("ByCookieAChangeNeedsTokenAndOwnOrigin") {
  WebRig rig;
  const std::string csrf = rig.person(Role::crew).csrf;
  const std::string other = rig.person(Role::owner).csrf;
  const Header token{"x-csrf-token", csrf};
  const Header own{"origin", "http://logger.example:8460"};
  const std::vector<std::pair<std::vector<Header>, int>> cases = {
      {{token, own}, 201},
      {{token, {"sec-fetch-site", "same-origin"}}, 201},
      {{token, own, {"sec-fetch-site", "same-origin"}}, 201},
      {{own}, 403},
      {{token}, 403},
      {{{"x-csrf-token", other}, own}, 403},
      {{{"x-csrf-token", ""}, own}, 403},
      {{token, {"origin", "https://logger.example:8460"}}, 403},
      {{token, {"origin", "http://logger.example:8461"}}, 403},
      {{token, {"origin", "http://logger.example:8460.elsewhere.example"}}, 403},
      {{token, {"origin", "null"}}, 403},
      {{token, own, {"sec-fetch-site", "cross-site"}}, 403},
      {{token, own, {"sec-fetch-site", "same-site"}}, 403},
      {{token, {"sec-fetch-site", "same-site"}}, 403}};
  for (const auto& [headers, status] : cases) {
    rig.renew();
    INFO(headers.back().name << ": " << headers.back().value);
    CHECK(rig.ask(std::nullopt, note_by_cookie(rig, headers)).status == status);
    CHECK(rig.site.noted.size() == (status == 201 ? 1 : 0));
  }
}

TEST_CASE("ABearerTokenNeedsNoSignOfThePage") {
  WebRig rig;
  const Asked note{"POST",
                   "/api/v1/notes",
                   R"({"kind":"remark","remark":"invented"})",
                   {{"content-type", "application/json"}}};
  CHECK(rig.ask(Role::crew, note).status == 201);
  // A token that is wrong hides the cookie: a program's mistake must not become a person's act.
  Asked mixed = note;
  mixed.headers.push_back({"authorization", "Bearer wrong"});
  CHECK(rig.ask_from_page(Role::crew, mixed).status == 401);
  for (const char* odd : {"Bearer", "Bearer ", "Basic dTpw", "bearer\t", ""}) {
    Asked asked{"GET", "/api/v1/notes"};
    asked.headers.push_back({"authorization", odd});
    CHECK(rig.ask(std::nullopt, asked).status == 401);
  }
}

TEST_CASE("ATokenTooLongIsNobodys") {
  WebRig rig;
  Asked asked{"GET", "/api/v1/notes"};
  asked.headers.push_back({"authorization", "Bearer " + std::string(5000, 'a')});
  CHECK(rig.ask(std::nullopt, asked).status == 401);
}

}  // namespace web_tests
