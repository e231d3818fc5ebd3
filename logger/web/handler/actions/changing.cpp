// Work that changes the job's records.
#include <nlohmann/json.hpp>

#include "logger/web/handler/actions/given.hpp"
#include "logger/web/handler/actions/work.hpp"
#include "logger/web/handler/answer/answers.hpp"

namespace logger::web {

namespace {

constexpr std::size_t kShortText = 200;
constexpr std::size_t kRemark = 500;  // as record_note takes it
constexpr std::size_t kMostPhotos = 20;

Response nothing_to_say() {
  Response response;
  response.status = 204;
  return response;
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
  GivenBody body{
      call, {"kind", "room", "subject", "answer", "remark", "photos", "at_utc", "carton_celsius"}};
  const NoteRequest note{.kind = body.required_text("kind", kShortText),
                         .room = body.text("room", kShortText),
                         .subject = body.text("subject", kShortText),
                         .answer = body.text("answer", kShortText),
                         .remark = body.text("remark", kRemark),
                         .photo_sha256_hex = body.texts("photos", kMostPhotos),
                         .at = body.time("at_utc"),
                         .carton_celsius = body.quantity("carton_celsius")};
  if (const auto refusal = body.refusal()) {
    return *refusal;
  }
  const auto id = services.site.add_note(note, call.who->principal);
  if (!id) {
    return problem_from(id.error());
  }
  put_on_record(services, call, "note", note.kind + " " + std::to_string(id.value()));
  return json_answer(nlohmann::json{{"id", id.value()}}.dump(), 201);
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
