#include "tests/web/web_rig.hpp"

#include <array>
#include <cstdlib>
#include <filesystem>
#include <stdexcept>

#include "analysis/evidence/digest.hpp"
#include "logger/web/access/book/book_file.hpp"

namespace web_tests {

using analysis::base::micros_from_hours;

namespace {

// Looks like Argon2id and costs nothing: the rig's people sign in often.
class QuickHasher final : public PasswordHasher {
 public:
  Result<std::string> hash(const std::string& password) override { return quick(password); }
  bool matches(const std::string& hash, const std::string& password) override {
    return hash == quick(password);
  }

 private:
  static std::string quick(const std::string& password) {
    const std::string hex =
        analysis::evidence::hex_from_digest(analysis::evidence::sha256_from_bytes(password));
    return "$argon2id$v=19$m=19456,t=2,p=1$AAAAAAAAAAAAAAAAAAAAAA$" + hex.substr(0, 42) + "A";
  }
};

void must(bool holds, const char* what) {
  if (!holds) {
    throw std::runtime_error(what);
  }
}

}  // namespace

nlohmann::ordered_json status_document(double hours) {
  return {{"format", "dwellog-status/1"},
          {"job", "Invented site"},
          {"at_utc", "2026-03-02T07:00:00Z"},
          {"rooms", nlohmann::ordered_json::array({{{"id", "living"},
                                                    {"name", "Living room"},
                                                    {"verdict", "not ready"},
                                                    {"dwell_done_hours", hours}}})},
          {"alerts", nlohmann::ordered_json::array()},
          {"evidence_log", {{"log_entries", 12}, {"newest_issued_at_utc", nullptr}}}};
}

std::shared_ptr<const SiteSnapshot> snapshot_of(std::uint64_t version, double hours) {
  auto snapshot = std::make_shared<SiteSnapshot>();
  snapshot->version = version;
  snapshot->made_at = kNow;
  snapshot->status = status_document(hours);
  snapshot->status["installer"] = "An Invented Name";
  snapshot->shared_status = status_document(hours);
  return snapshot;
}

Result<std::string> FakeSite::answer(std::string call, std::string text) {
  calls.push_back(std::move(call));
  if (throws) {
    throw std::runtime_error("invented");
  }
  if (fails_with) {
    return logger::store::Failure{*fails_with};
  }
  return text;
}

Result<std::string> FakeSite::chart_svg(const ChartQuery& query) {
  auto svg = answer("chart " + query.room + " " + query.chart + " " + std::to_string(query.hours),
                    "<svg>" + std::string(2000, ' ') + "</svg>");
  return svg && query.room != "living" ? failure(ErrorCode::not_found, "no room") : svg;
}
Result<std::string> FakeSite::series_json(const SeriesQuery& query) {
  auto text =
      answer("series " + query.room + " " + query.channel + " " + std::to_string(query.limit) +
                 (query.from ? " from" : "") + (query.to ? " to" : ""),
             R"({"points":[],"next_from_utc":null})");
  return text && query.room != "living" ? failure(ErrorCode::not_found, "no room") : text;
}
Result<std::string> FakeSite::notes_json(std::int64_t before_id, int limit) {
  return answer("notes " + std::to_string(before_id) + " " + std::to_string(limit), "[]");
}
Result<std::string> FakeSite::audit_json(std::int64_t before_id, int limit) {
  return answer("audit " + std::to_string(before_id) + " " + std::to_string(limit), "[]");
}
Result<std::string> FakeSite::certificates_json() { return answer("certificates", "[]"); }
Result<StoredFile> FakeSite::certificate_file(const std::string& number, const std::string& kind) {
  const auto bytes = answer("certificate " + number + " " + kind, "{}");
  if (!bytes) {
    return logger::store::Failure{bytes.error()};
  }
  return StoredFile{bytes.value(), "application/json", "C-1 \"\r\nx: y.json"};
}
Result<StoredFile> FakeSite::photo(const std::string& sha256_hex) {
  const auto bytes = answer("photo " + sha256_hex, "\xFF\xD8\xFFinvented");
  if (!bytes) {
    return logger::store::Failure{bytes.error()};
  }
  if (sha256_hex != kPhotoDigest) {
    return failure(ErrorCode::not_found, "no photo");
  }
  return StoredFile{bytes.value(), "image/jpeg", kPhotoDigest + ".jpg"};
}
Result<std::string> FakeSite::metrics_text() { return answer("metrics", "dwellog_up 1\n"); }
Result<std::string> FakeSite::questions_json() {
  return answer("questions", R"({"questions": [], "rooms": []})");
}
Result<std::string> FakeSite::keep_photo(const std::string& bytes) {
  return answer("keep photo " + std::to_string(bytes.size()), kPhotoDigest);
}
Result<AddedNote> FakeSite::add_note(const NoteRequest& note, const Principal& by) {
  const auto done = answer("note by " + by.id, {});
  if (!done) {
    return logger::store::Failure{done.error()};
  }
  noted.push_back(note);
  return AddedNote{41, note_was_there};
}
Result<void> FakeSite::acknowledge(const std::string& alert_key, const std::string& remark,
                                   const Principal& by) {
  const auto done = answer("acknowledge " + alert_key + " by " + by.id + ": " + remark, {});
  return done ? Result<void>{} : Result<void>(logger::store::Failure{done.error()});
}
Result<void> FakeSite::audit(const AuditEntry& entry) {
  audited.push_back(entry);
  return {};
}

bool FakeLoop::on_worker(std::function<void()> work, std::function<void()> then) {
  if (is_full) {
    return false;
  }
  held_.emplace_back(std::move(work), std::move(then));
  if (!holds_work) {
    do_held_work();
  }
  return true;
}

void FakeLoop::do_held_work() {
  for (auto& [work, then] : std::exchange(held_, {})) {
    try {
      work();
    } catch (const std::exception&) {
      // As the server: what follows finds that nothing was made.
    }
    then();
  }
}

void FakeLoop::call_after(std::chrono::milliseconds, std::function<void()> work) {
  timed_.push_back(std::move(work));
}

void FakeLoop::forget() {
  held_.clear();
  timed_.clear();
}

void FakeLoop::tick() {
  monotonic += std::chrono::seconds{1};
  utc = utc + Micros{1'000'000};
  for (auto& work : std::exchange(timed_, {})) {
    work();
  }
}

WebRig::WebRig(HandlerSettings settings) {
  add_people();
  renew(settings);
}

void WebRig::renew(HandlerSettings settings) {
  loop.forget();
  site.calls.clear();
  site.audited.clear();
  site.noted.clear();
  handler = std::make_unique<PageHandler>(Services{*access, site}, loop, settings);
}

std::string WebRig::password_of(Role role) { return "password of " + name_of_person(role); }
std::string WebRig::name_of_person(Role role) { return "invented " + std::string(name_of(role)); }

void WebRig::add_people() {
  const std::filesystem::path folder = scratch_.path() / "access";
  access = Access::open(folder, std::make_unique<QuickHasher>());
  QuickHasher hasher;
  for (const Role role : {Role::viewer, Role::crew, Role::owner}) {
    Person& person = people_[role];
    person.token = new_secret();
    const auto added = change_book(folder, [&](AccessBook& book) -> Result<void> {
      const auto user =
          add_user(book, name_of_person(role), role, hasher.hash(password_of(role)).value(), kNow);
      const auto token = add_token(book, "program of " + name_of_person(role), role,
                                   analysis::evidence::sha256_from_bytes(person.token), kNow);
      return user && token ? Result<void>{} : failure(ErrorCode::io, "no such person");
    });
    must(added.has_value(), "add_user");
    const auto login = access->log_in(name_of_person(role), password_of(role), "192.0.2.1", kNow);
    must(login.identified.has_value(), "log_in");
    person.cookie = login.session_cookie;
    person.csrf = login.identified->csrf_token;
  }
  const auto link =
      access->make_link("invented", kNow + micros_from_hours(48), {"u3", "", Role::owner}, kNow);
  must(link.has_value(), "make_link");
  share_token = link.value().token;
  const auto shared = access->open_link(share_token, "192.0.2.1", kNow);
  must(shared.identified.has_value(), "open_link");
  people_[Role::shared] = {{}, shared.session_cookie, shared.identified->csrf_token};
}

Request WebRig::request(const Asked& asked) const {
  Request request{.method = asked.method,
                  .target = asked.target,
                  .headers = asked.headers,
                  .body = asked.body,
                  .peer_address = "192.0.2.7",
                  .over_tls = false,
                  .at = loop.utc};
  request.headers.push_back({"host", "logger.example:8460"});
  return request;
}

Response WebRig::ask(std::optional<Role> who, Asked asked) {
  if (who && !person(*who).token.empty()) {
    asked.headers.push_back({"authorization", "Bearer " + person(*who).token});
  } else if (who) {
    return ask_from_page(*who, std::move(asked));
  }
  return send(request(asked));
}

Response WebRig::ask_from_page(Role who, Asked asked) {
  asked.headers.push_back({"cookie", "dwellog_session=" + person(who).cookie});
  asked.headers.push_back({"x-csrf-token", person(who).csrf});
  asked.headers.push_back({"origin", "http://logger.example:8460"});
  asked.headers.push_back({"sec-fetch-site", "same-origin"});
  return send(request(asked));
}

Response WebRig::send(Request request) {
  std::optional<Response> given;
  send(std::move(request), [&](Response response) { given = std::move(response); });
  must(given.has_value(), "an answer at once");
  return std::move(*given);
}

void WebRig::send(Request request, Answer answer) {
  handler->handle(std::move(request), std::move(answer));
}

std::string header_in(const Response& response, std::string_view name) {
  std::string found;
  for (const Header& header : response.headers) {
    if (header.name == name) {
      found += (found.empty() ? "" : ", ") + header.value;
    }
  }
  return found;
}

}  // namespace web_tests
