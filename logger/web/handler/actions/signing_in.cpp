// Work with passwords and share links.
#include <chrono>
#include <nlohmann/json.hpp>

#include "logger/web/handler/actions/given.hpp"
#include "logger/web/handler/actions/work.hpp"
#include "logger/web/handler/answer/answers.hpp"
#include "logger/web/handler/request/credentials.hpp"
#include "logger/web/page/page_html.hpp"

namespace logger::web {

namespace {

constexpr std::size_t kLongestNameGiven = 100;
constexpr std::size_t kLongestLabel = 100;
constexpr std::int64_t kMostLinkHours = 90 * 24;

std::chrono::seconds whole_seconds(Micros wait) {
  return std::chrono::ceil<std::chrono::seconds>(wait);
}

Response login_form(const LoginView& view, int status) {
  Response response = body_answer("text/html; charset=utf-8", login_page_html(view), status);
  if (view.retry_after > Micros{0}) {
    set_header(response, "retry-after", std::to_string(whole_seconds(view.retry_after).count()));
  }
  return response;
}

void give_session(const Call& call, const LoginAnswer& login, Response& response) {
  set_header(response, "set-cookie",
             session_cookie_line(login.session_cookie, call.request.over_tls,
                                 login.identified->expires_at - call.request.at));
}

void put_login_on_record(Services& services, const Call& call, const LoginAnswer& login,
                         std::string how) {
  static_cast<void>(services.site.audit(
      {.at = call.request.at,
       .principal_id = login.identified ? login.identified->principal.id : std::string{},
       .action = login.identified ? "login" : "login-refused",
       .detail = std::move(how),
       .peer_address = call.request.peer_address}));
}

}  // namespace

Response log_in(Services& services, const Call& call) {
  const auto fields = fields_from(call.request.body);
  const std::string* name = fields ? only_field(*fields, "name") : nullptr;
  const std::string* password = fields ? only_field(*fields, "password") : nullptr;
  if (name == nullptr || password == nullptr) {
    return problem(400, "body: expected the form fields \"name\" and \"password\"");
  }
  if (name->size() > kLongestNameGiven) {  // nobody has such a one
    return login_form({.refused = true}, 401);
  }
  const LoginAnswer login =
      services.access.log_in(*name, *password, call.request.peer_address, call.request.at);
  put_login_on_record(services, call, login, "password");
  if (login.files_unread) {
    return login_form({.users_unread = true}, 503);
  }
  if (!login.identified) {
    const bool waits = login.retry_after > Micros{0};
    return login_form({.refused = !waits, .retry_after = login.retry_after, .name = *name},
                      waits ? 429 : 401);
  }
  Response response = redirect("/");
  give_session(call, login, response);
  return response;
}

Response open_share_link(Services& services, const Call& call) {
  const LoginAnswer login =
      services.access.open_link(call.captured.at(0), call.request.peer_address, call.request.at);
  put_login_on_record(services, call, login, "share link");
  if (login.files_unread) {
    return login_form({.users_unread = true}, 503);
  }
  if (!login.identified) {
    return login.retry_after > Micros{0} ? try_again(429, whole_seconds(login.retry_after))
                                         : redirect("/login?link=ended");
  }
  Response response = came_by_foreign_link(call.request) ? redirect_of_own("/") : redirect("/");
  give_session(call, login, response);
  return response;
}

Response links(Services& services, const Call&) {
  return json_answer(services.access.links_json());
}

Response make_link(Services& services, const Call& call) {
  GivenBody body{call, {"label", "hours"}};
  const std::string label = body.text("label", kLongestLabel);
  const auto hours = body.number("hours", 1, kMostLinkHours);
  if (const auto refusal = body.refusal()) {
    return *refusal;
  }
  if (!hours) {
    return problem(422, "body \"hours\": expected for how many hours the link is to work, 1 to " +
                            std::to_string(kMostLinkHours));
  }
  const auto link = services.access.make_link(label, call.request.at + std::chrono::hours{*hours},
                                              call.who->principal, call.request.at);
  if (!link) {
    return problem_from(link.error());
  }
  put_on_record(services, call, "link-made", link.value().id);
  const nlohmann::ordered_json made = {
      {"id", link.value().id},
      {"token", link.value().token},
      {"path", "/s/" + link.value().token},
      {"expires_at_utc", analysis::base::rfc3339_from_utc(link.value().expires_at)}};
  return json_answer(made.dump(), 201);
}

Response withdraw_link(Services& services, const Call& call) {
  const std::string& id = call.captured.at(0);
  const auto done = services.access.withdraw_link(id);
  if (!done) {
    return problem_from(done.error());
  }
  put_on_record(services, call, "link-withdrawn", id);
  Response response;
  response.status = 204;
  return response;
}

}  // namespace logger::web
