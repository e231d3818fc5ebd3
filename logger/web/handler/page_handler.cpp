#include "logger/web/handler/page_handler.hpp"

#include <array>
#include <cstdio>
#include <nlohmann/json.hpp>
#include <random>

#include "logger/web/access/guard/attempts.hpp"
#include "logger/web/handler/actions/work.hpp"
#include "logger/web/handler/answer/answers.hpp"
#include "logger/web/handler/request/credentials.hpp"
#include "logger/web/page/assets.hpp"
#include "logger/web/page/page_html.hpp"

namespace logger::web {

using std::chrono::milliseconds;
using std::chrono::seconds;

namespace {

constexpr milliseconds kTick{1000};  // at most one event a second
constexpr seconds kWorkerBusy{2};
constexpr seconds kSignInBusy{5};
constexpr Allowance kRefusalsOnRecord{5, 1.0 / 60};  // a principal, so that none fills the log
constexpr std::size_t kShortestVersion = 8;          // of an asset's digest

// Versions begin at 0 again with every start of the program.
std::string name_of_run() {
  std::array<char, 9> text{};
  std::snprintf(text.data(), text.size(), "%08x", std::random_device{}());
  return text.data();
}

bool reads_only(const Request& request) {
  return request.method == "GET" || request.method == "HEAD";
}

bool is_sign_in(const Call& call) {
  return call.rule->work == &log_in || call.rule->work == &open_share_link;
}

// Of the query this one word counts, and nothing of it is shown.
bool leads_from_ended_link(const Call& call) {
  const std::string* link = only_field(call.target.query, "link");
  return link != nullptr && *link == "ended";
}

Response asset_for(const Call& call) {
  const Asset* asset = asset_named(call.captured.at(0));
  if (asset == nullptr) {
    return problem(404);
  }
  Response response = body_answer(std::string(asset->content_type), std::string(asset->bytes));
  const std::string* version = only_field(call.target.query, "v");
  const bool is_named_by_bytes = version != nullptr && version->size() >= kShortestVersion &&
                                 asset->sha256_hex.starts_with(*version);
  let_keep(response, is_named_by_bytes ? Keeping::for_ever : Keeping::ask_each_time,
           asset->sha256_hex);
  if (!asset->worker_scope.empty()) {
    set_header(response, "service-worker-allowed", std::string(asset->worker_scope));
  }
  return response;
}

}  // namespace

PageHandler::PageHandler(Services services, ServerLoop& loop, HandlerSettings settings)
    : services_(services),
      loop_(loop),
      settings_(settings),
      per_address_(settings.per_address),
      per_principal_(settings.per_principal),
      per_stranger_(settings.per_stranger),
      refusals_on_record_(kRefusalsOnRecord),
      full_feed_(Audience::full, name_of_run()),
      shared_feed_(Audience::shared, name_of_run()) {
  loop_.call_after(kTick, [this] { tick(); });
}

PageHandler::~PageHandler() = default;

std::size_t PageHandler::body_limit(const Request& head) {
  const auto target = target_from(head.target);
  const RouteMatch match = target ? route_of(head.method, target->segments) : RouteMatch{};
  if (match.rule == nullptr || match.rule->most_body <= kSmallBody) {
    return kSmallBody;
  }
  const auto who = services_.access.identify(credentials_of(head), head.at);
  return who && match.rule->least && who->principal.role >= *match.rule->least
             ? match.rule->most_body
             : kSmallBody;
}

void PageHandler::handle(Request request, Answer answer) {
  const auto call = std::make_shared<Call>();
  call->request = std::move(request);
  call->answer = std::move(answer);
  auto early = find_route(*call);
  if (!early) {
    early = find_out_who(*call);
  }
  if (!early) {
    early = check_right(call);
  }
  if (!early) {
    early = check_it_is_meant(*call);
  }
  if (early) {
    finish(*call, std::move(*early));
  } else if (call->rule->quick != Quick::none) {
    do_quick(*call);
  } else {
    give_to_worker(call);
  }
}

std::optional<Response> PageHandler::find_route(Call& call) {
  const auto wait =
      per_address_.wait_before(key_of_address(call.request.peer_address), loop_.monotonic_now());
  if (wait > seconds{0}) {
    return try_again(429, wait);
  }
  if (call.request.fault == 400 || call.request.fault == 431) {
    return problem(call.request.fault);
  }
  auto target = target_from(call.request.target);
  if (!target) {
    return problem(400, "the address can't be read");
  }
  call.target = std::move(*target);
  RouteMatch match = route_of(call.request.method, call.target.segments);
  call.rule = match.rule;
  call.captured = std::move(match.captured);
  return std::nullopt;
}

std::optional<Response> PageHandler::find_out_who(Call& call) {
  if (call.rule != nullptr && !call.rule->least) {
    return std::nullopt;
  }
  call.who = services_.access.identify(credentials_of(call.request), call.request.at);
  if (call.who) {
    const auto wait = per_principal_.wait_before(call.who->principal.id, loop_.monotonic_now());
    return wait > seconds{0} ? std::optional(try_again(429, wait)) : std::nullopt;
  }
  const auto wait =
      per_stranger_.wait_before(key_of_address(call.request.peer_address), loop_.monotonic_now());
  if (wait > seconds{0}) {
    return try_again(429, wait);
  }
  if (call.rule != nullptr && call.rule->quick == Quick::page) {
    return came_by_foreign_link(call.request) ? redirect_of_own("/") : redirect("/login");
  }
  Response response = problem(401);
  set_header(response, "www-authenticate", "Bearer");
  return response;
}

std::optional<Response> PageHandler::check_right(const CallPointer& call) {
  const bool is_public = call->rule != nullptr && !call->rule->least;
  if (is_public) {
    return std::nullopt;
  }
  // What there is not looks to a share link like what it may not see.
  const Role least = call->rule != nullptr ? *call->rule->least : Role::viewer;
  if (call->who->principal.role < least) {
    put_refusal_on_record(call);
    return problem(403);
  }
  if (call->rule != nullptr) {
    return std::nullopt;
  }
  const std::string allowed = route_of(call->request.method, call->target.segments).allowed;
  if (allowed.empty()) {
    return problem(404);
  }
  Response response = problem(405, call->request.method + ": expected " + allowed);
  set_header(response, "allow", allowed);
  return response;
}

// What changes something was asked for by our own page, or by a program with a token of its own.
std::optional<Response> PageHandler::check_it_is_meant(const Call& call) {
  const Request& request = call.request;
  if (!reads_only(request)) {
    const Sender sender = sender_of(request);
    const bool by_cookie = call.who && call.who->by_cookie;
    if ((by_cookie && sender != Sender::own_page) || (!call.who && sender == Sender::elsewhere)) {
      return problem(403);
    }
    if (by_cookie) {
      const std::string* given = header_of(request, "x-csrf-token");
      const auto fields = given == nullptr ? fields_from(request.body) : std::nullopt;
      given = fields ? only_field(*fields, "csrf_token") : given;
      if (given == nullptr || !same_secret(*given, call.who->csrf_token)) {
        return problem(403);
      }
    }
  }
  if (request.fault == 503) {
    return try_again(503, kSignInBusy);
  }
  if (request.fault == 413) {
    return problem(413, "the body is too long; expected at most " +
                            std::to_string(body_limit(request)) + " bytes");
  }
  return request.fault != 0 ? std::optional(problem(request.fault)) : std::nullopt;
}

void PageHandler::put_refusal_on_record(const CallPointer& call) {
  const auto wait = refusals_on_record_.wait_before(call->who->principal.id, loop_.monotonic_now());
  if (wait > seconds{0}) {
    return;
  }
  // A full queue loses this line; what was asked is refused all the same.
  static_cast<void>(loop_.on_worker(
      [this, call] {
        const std::string_view what = call->rule != nullptr ? call->rule->pattern : "no such path";
        put_on_record(services_, *call, "refused",
                      (call->rule != nullptr ? call->request.method + " " : std::string{}) +
                          std::string(what));
      },
      [] {}));
}

void PageHandler::give_to_worker(const CallPointer& call) {
  const bool signs_in = is_sign_in(*call);
  if (signs_in && sign_ins_ >= settings_.sign_ins_waiting) {
    finish(*call, try_again(503, kSignInBusy));
    return;
  }
  const auto made = std::make_shared<std::optional<Response>>();
  const bool taken = loop_.on_worker(
      [this, call, made] {
        Response response = call->rule->work(services_, *call);
        fit_to_asker(call->request, response);
        *made = std::move(response);
      },
      [this, call, made, signs_in] {
        sign_ins_ -= signs_in ? 1U : 0U;
        finish(*call, *made ? std::move(**made) : problem(500));
      });
  if (!taken) {
    finish(*call, try_again(503, kWorkerBusy));
    return;
  }
  sign_ins_ += signs_in ? 1U : 0U;
}

void PageHandler::finish(Call& call, Response response) {
  add_security_headers(call.request, response);
  call.answer(std::move(response));
}

void PageHandler::do_quick(Call& call) {
  Response response;
  switch (call.rule->quick) {
    case Quick::login_page:
      response = body_answer("text/html; charset=utf-8",
                             login_page_html({.link_ended = leads_from_ended_link(call)}));
      break;
    case Quick::asset:
      response = asset_for(call);
      break;
    case Quick::page:
      response = page(call);
      break;
    case Quick::log_out:
      response = log_out(call);
      break;
    case Quick::events:
      response = events(call);
      break;
    case Quick::status:
      // Compressed once for all who ask.
      finish(call, status(call));
      return;
    case Quick::openapi:
      response = json_answer(std::string(settings_.openapi_json));
      let_keep(response, Keeping::ask_each_time);
      break;
    case Quick::none:
      response = problem(500);
      break;
  }
  fit_to_asker(call.request, response);
  finish(call, std::move(response));
}

Response PageHandler::page(const Call& call) {
  const auto snapshot = feed_for(call).snapshot();
  if (!snapshot) {
    return try_again(503, kWorkerBusy);
  }
  const bool is_shared = call.who->principal.role == Role::shared;
  return body_answer("text/html; charset=utf-8",
                     page_html({.status = is_shared ? snapshot->shared_status : snapshot->status,
                                .principal = call.who->principal,
                                .csrf_token = call.who->csrf_token}));
}

Response PageHandler::log_out(const Call& call) {
  services_.access.end_session(credentials_of(call.request).session_cookie);
  Response response = redirect("/login");
  set_header(response, "set-cookie", session_cookie_line({}, call.request.over_tls, Micros{0}));
  set_header(response, "clear-site-data", "\"cache\", \"storage\"");
  return response;
}

Response PageHandler::status(const Call& call) {
  const SnapshotFeed& feed = feed_for(call);
  if (!feed.snapshot()) {
    return try_again(503, kWorkerBusy);
  }
  Response response = json_answer(feed.text());
  let_keep(response, Keeping::ask_each_time, feed.id());
  fit_to_asker(call.request, response, accepts_gzip(call.request) ? &feed.gzip() : nullptr);
  return response;
}

Response PageHandler::events(const Call& call) {
  if (full_feed_.readers() + shared_feed_.readers() >= settings_.streams) {
    return try_again(503, kSignInBusy);
  }
  Response response;
  set_header(response, "content-type", "text/event-stream");
  if (call.request.method == "HEAD") {
    return response;
  }
  const std::string* last = header_of(call.request, "last-event-id");
  auto still_may = [this, credentials = credentials_of(call.request),
                    role = call.who->principal.role] {
    const auto who = services_.access.identify(credentials, loop_.utc_now());
    return who && who->principal.role == role;
  };
  response.feed = feed_for(call).open(last == nullptr ? std::string_view{} : *last, still_may);
  return response;
}

SnapshotFeed& PageHandler::feed_for(const Call& call) {
  refresh();
  return call.who->principal.role == Role::shared ? shared_feed_ : full_feed_;
}

void PageHandler::refresh() {
  const auto snapshot = services_.site.snapshot();
  full_feed_.update(snapshot);
  shared_feed_.update(snapshot);
}

void PageHandler::tick() {
  refresh();
  full_feed_.tick();
  shared_feed_.tick();
  loop_.call_after(kTick, [this] { tick(); });
}

}  // namespace logger::web
