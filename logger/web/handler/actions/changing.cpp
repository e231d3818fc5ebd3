// Work that changes the job's records.
#include <algorithm>
#include <nlohmann/json.hpp>

#include "logger/web/handler/actions/given.hpp"
#include "logger/web/handler/actions/work.hpp"
#include "logger/web/handler/answer/answers.hpp"

namespace logger::web {

namespace {

constexpr std::size_t kShortText = 200;
constexpr std::size_t kRemark = 500;  // as record_note takes it
constexpr std::size_t kMostPhotos = 20;
constexpr std::size_t kMostReadings = 50;
constexpr std::size_t kReadings = 2000;  // bytes of one line
constexpr std::size_t kLongestKey = 100;

Response nothing_to_say() {
  Response response;
  response.status = 204;
  return response;
}

// Of the header Idempotency-Key, a text in quotes (RFC 9651, 3.3.3, without what it escapes); ""
// where there is none, nullopt where it is something else.
std::optional<std::string> idempotency_key_of(const Request& request) {
  const std::string* given = header_of(request, "idempotency-key");
  if (given == nullptr) {
    return std::string();
  }
  const bool quoted = given->size() > 2 && given->size() <= kLongestKey + 2 &&
                      given->front() == '"' && given->back() == '"';
  const std::string key = quoted ? given->substr(1, given->size() - 2) : std::string();
  const bool plain = std::ranges::all_of(
      key, [](char c) { return c >= ' ' && c <= '~' && c != '"' && c != '\\'; });
  return quoted && plain ? std::optional(key) : std::nullopt;
}

NoteRequest note_from(GivenBody& body) {
  return {.kind = body.required_text("kind", kShortText),
          .room = body.text("room", kShortText),
          .subject = body.text("subject", kShortText),
          .answer = body.text("answer", kShortText),
          .remark = body.text("remark", kRemark),
          .photo_sha256_hex = body.texts("photos", kMostPhotos, kShortText),
          .at = body.time("at_utc"),
          .carton_celsius = body.quantity("carton_celsius"),
          .choice = body.text("choice", kShortText),
          .below = body.text("below", kShortText),
          .approval = body.text("approval", kShortText),
          .lines = body.texts("lines", kMostReadings, kReadings),
          .holes = body.texts("holes", kMostReadings, kShortText),
          .service_hours = body.quantity("service_hours"),
          .drilled_at = body.time("drilled_at_utc"),
          .thickness_mm = body.quantity("thickness_mm"),
          .as_found = body.flag("as_found"),
          .idempotency_key = {},
          .body = {}};
}

}  // namespace

void put_on_record(Services& services, const Call& call, std::string action, std::string detail) {
  static_cast<void>(
      services.site.audit({.at = call.request.at,
                           .principal_id = call.who ? call.who->principal.id : std::string{},
                           .action = std::move(action),
                           .detail = std::move(detail),
                           .peer_address = call.request.peer_address}));
}

Response acknowledge(Services& services, const Call& call) {
  GivenBody body{call, {"key", "remark"}};
  const std::string key = body.required_text("key", kShortText);
  const std::string remark = body.text("remark", kRemark);
  if (const auto refusal = body.refusal()) {
    return *refusal;
  }
  const auto done = services.site.acknowledge(key, remark, call.who->principal);
  if (!done) {
    return problem_naming(done.error());
  }
  put_on_record(services, call, "acknowledge", key);
  return nothing_to_say();
}

Response add_note(Services& services, const Call& call) {
  const auto key = idempotency_key_of(call.request);
  if (!key) {
    return problem(400, "idempotency-key: expected one text of 1 to " +
                            std::to_string(kLongestKey) + " characters in quotes");
  }
  GivenBody body{call,
                 {"kind", "room", "subject", "answer", "remark", "photos", "at_utc",
                  "carton_celsius", "choice", "below", "approval", "lines", "holes",
                  "service_hours", "drilled_at_utc", "thickness_mm", "as_found"}};
  NoteRequest note = note_from(body);
  if (const auto refusal = body.refusal()) {
    return *refusal;
  }
  note.idempotency_key = *key;
  note.body = call.request.body;
  const auto added = services.site.add_note(note, call.who->principal);
  if (!added) {
    return problem_from(added.error());
  }
  if (!added.value().was_there) {
    put_on_record(services, call, "note", note.kind + " " + std::to_string(added.value().id));
  }
  return json_answer(nlohmann::json{{"id", added.value().id}}.dump(), 201);
}

Response keep_photo(Services& services, const Call& call) {
  if (call.request.body.empty()) {
    return problem(422, "body: expected the bytes of a picture, got none");
  }
  const auto digest = services.site.keep_photo(call.request.body);
  if (!digest) {
    return problem_from(digest.error());
  }
  put_on_record(services, call, "photo", digest.value());
  return json_answer(nlohmann::json{{"sha256", digest.value()}}.dump(), 201);
}

}  // namespace logger::web
