// What answers look like: headers, conditional requests, compression, errors, and how queries and
// bodies are read.
#include "logger/web/handler/answer/answers.hpp"

#include <zlib.h>

#include <catch2/catch.hpp>

#include "tests/web/web_rig.hpp"

namespace web_tests {
namespace {

std::string unzipped(const std::string& bytes) {
  z_stream stream{};
  REQUIRE(inflateInit2(&stream, 15 + 16) == Z_OK);
  std::string out(1 << 20, '\0');
  std::string in = bytes;
  stream.next_in = reinterpret_cast<Bytef*>(in.data());
  stream.avail_in = static_cast<uInt>(in.size());
  stream.next_out = reinterpret_cast<Bytef*>(out.data());
  stream.avail_out = static_cast<uInt>(out.size());
  CHECK(inflate(&stream, Z_FINISH) == Z_STREAM_END);
  out.resize(stream.total_out);
  inflateEnd(&stream);
  return out;
}

Asked json_post(const std::string& target, const std::string& body) {
  return {"POST", target, body, {{"content-type", "application/json"}}};
}

}  // namespace

TEST_CASE("EveryAnswerCarriesWhatKeepsTheBrowserSafe") {
  WebRig rig;
  for (const char* target : {"/", "/login", "/api/v1/status", "/api/v1/nothing", "/metrics",
                             "no address", "/assets/page.css", "/%zz", "/events"}) {
    for (const auto who : {std::optional<Role>{}, std::optional<Role>{Role::owner}}) {
      const Response response = rig.ask(who, {"GET", target});
      INFO(target << ": " << response.status);
      const std::string policy = header_in(response, "content-security-policy");
      CHECK(policy.starts_with("default-src 'none'"));
      CHECK(policy.find("unsafe") == std::string::npos);
      CHECK(policy.find("frame-ancestors 'none'") != std::string::npos);
      CHECK(header_in(response, "x-content-type-options") == "nosniff");
      CHECK(header_in(response, "referrer-policy") == "same-origin");
      CHECK_FALSE(header_in(response, "cache-control").empty());
      CHECK(header_in(response, "strict-transport-security").empty());
    }
  }
}

TEST_CASE("WhatTheAskerHasAlreadyIsNotSentAgain") {
  WebRig rig;
  for (const char* target :
       {"/api/v1/status", "/api/v1/notes", "/api/v1/rooms/living/charts/core.svg",
        "/api/v1/certificates", "/api/v1/openapi.json", "/assets/page.css"}) {
    const Response first = rig.ask(Role::viewer, {"GET", target});
    const std::string etag = header_in(first, "etag");
    INFO(target << ": " << first.status << " " << etag);
    REQUIRE(etag.starts_with("W/\""));
    const Response again =
        rig.ask(Role::viewer, {"GET", target, {}, {{"if-none-match", "\"x\", " + etag}}});
    CHECK(again.status == 304);
    CHECK(again.body.empty());
    CHECK(header_in(again, "etag") == etag);
    CHECK(header_in(again, "cache-control") == header_in(first, "cache-control"));
    CHECK(rig.ask(Role::viewer, {"GET", target, {}, {{"if-none-match", "W/\"other\""}}}).status ==
          200);
  }
  const std::string before = header_in(rig.ask(Role::viewer, {"GET", "/api/v1/status"}), "etag");
  rig.site.current = snapshot_of(2, 13.5);
  const Response changed =
      rig.ask(Role::viewer, {"GET", "/api/v1/status", {}, {{"if-none-match", before}}});
  CHECK(changed.status == 200);
  CHECK(changed.body.find("13.5") != std::string::npos);
}

TEST_CASE("TextIsCompressedForThoseWhoTakeIt") {
  WebRig rig;
  const std::string target = "/api/v1/rooms/living/charts/core.svg";
  const Response plain = rig.ask(Role::viewer, {"GET", target});
  CHECK(header_in(plain, "content-encoding").empty());
  CHECK(header_in(plain, "vary") == "accept-encoding");
  const auto asked = [&](const std::string& accepted) {
    return rig.ask(Role::viewer, {"GET", target, {}, {{"accept-encoding", accepted}}});
  };
  const Response zipped = asked("br, gzip;q=0.5");
  CHECK(header_in(zipped, "content-encoding") == "gzip");
  CHECK(zipped.body.size() < plain.body.size() / 4);
  CHECK(unzipped(zipped.body) == plain.body);
  CHECK(header_in(asked("gzip;q=0"), "content-encoding").empty());
  CHECK(header_in(asked("identity"), "content-encoding").empty());
  const Response small =
      rig.ask(Role::viewer, {"GET", "/api/v1/notes", {}, {{"accept-encoding", "gzip"}}});
  CHECK(header_in(small, "content-encoding").empty());
}

TEST_CASE("TheStatusIsCompressedWholeToo") {
  WebRig rig;
  auto snapshot = std::make_shared<SiteSnapshot>(*rig.site.current);
  snapshot->version = 9;
  snapshot->status["filler"] = std::string(5000, 'x');
  rig.site.current = snapshot;
  const Response zipped =
      rig.ask(Role::viewer, {"GET", "/api/v1/status", {}, {{"accept-encoding", "gzip"}}});
  CHECK(header_in(zipped, "content-encoding") == "gzip");
  CHECK(unzipped(zipped.body) == snapshot->status.dump());
}

TEST_CASE("AssetsNamedByTheirBytesAreKeptForEver") {
  WebRig rig;
  const std::string tag =
      header_in(rig.ask(std::nullopt, {"GET", "/assets/page.css"}), "etag").substr(3, 16);
  const auto keeping = [&](const std::string& query) {
    return header_in(rig.ask(std::nullopt, {"GET", "/assets/page.css" + query}), "cache-control");
  };
  CHECK(keeping("?v=" + tag).find("immutable") != std::string::npos);
  CHECK(keeping("") == "private, no-cache");
  CHECK(keeping("?v=" + tag.substr(0, 4)) == "private, no-cache");
  CHECK(keeping("?v=0000000000000000") == "private, no-cache");
}

TEST_CASE("AHeadRequestIsAnsweredAsAGet") {
  WebRig rig;
  const Response head = rig.ask(Role::viewer, {"HEAD", "/api/v1/notes"});
  const Response get = rig.ask(Role::viewer, {"GET", "/api/v1/notes"});
  CHECK(head.status == 200);
  CHECK(head.body == get.body);  // the server leaves it out and gives its length
  const Response events = rig.ask(Role::viewer, {"HEAD", "/events"});
  CHECK(events.status == 200);
  CHECK(events.feed == nullptr);
}

TEST_CASE("FailuresOfTheSiteAreProblems") {
  WebRig rig;
  const auto failing = [&](ErrorCode code) {
    rig.site.fails_with = logger::store::Error{code, "why", 0};
    return rig.ask(Role::viewer, {"GET", "/api/v1/notes"});
  };
  const std::vector<std::pair<ErrorCode, int>> expected = {
      {ErrorCode::not_found, 404}, {ErrorCode::invalid_input, 422}, {ErrorCode::unavailable, 503},
      {ErrorCode::timeout, 503},   {ErrorCode::no_space, 507},      {ErrorCode::io, 500},
      {ErrorCode::corrupt, 500},   {ErrorCode::unsupported, 500}};
  for (const auto& [code, status] : expected) {
    const Response response = failing(code);
    CHECK(response.status == status);
    CHECK(header_in(response, "content-type") == "application/problem+json");
    const auto document = nlohmann::json::parse(response.body);
    CHECK(document.at("status") == status);
    CHECK_FALSE(document.at("title").get<std::string>().empty());
    CHECK((response.body.find("why") != std::string::npos) == (status == 422));
    CHECK(header_in(response, "retry-after").empty() == (status != 503));
  }
  rig.site.fails_with.reset();
  rig.site.throws = true;
  CHECK(rig.ask(Role::viewer, {"GET", "/api/v1/notes"}).status == 500);
  rig.site.throws = false;
  rig.loop.is_full = true;
  CHECK(rig.ask(Role::viewer, {"GET", "/api/v1/notes"}).status == 503);
  rig.site.current = nullptr;
  rig.renew();
  CHECK(rig.ask(Role::viewer, {"GET", "/api/v1/status"}).status == 503);
  CHECK(rig.ask(Role::viewer, {"GET", "/"}).status == 503);
}

TEST_CASE("QueriesAreReadStrictly") {
  WebRig rig;
  const auto status_of = [&](const std::string& target) {
    return rig.ask(Role::owner, {"GET", target}).status;
  };
  const std::string series = "/api/v1/rooms/living/series";
  CHECK(status_of(series + "?channel=a.rh&from=2026-03-01T00:00:00Z&to=2026-03-02T00:00:00%2B01:00"
                           "&limit=10000") == 200);
  CHECK(rig.site.calls.back() == "series living a.rh 10000 from to");
  for (const char* query :
       {"?limit=0", "?limit=10001", "?limit=-1", "?limit=1x", "?limit=", "?limit=1&limit=2",
        "?from=yesterday", "?form=1", "?limit=+1", "?limit=99999999999999999999"}) {
    INFO(query);
    CHECK(status_of(series + query) == 400);
  }
  const std::string core = "/api/v1/rooms/living/charts/core.svg";
  CHECK(status_of(core + "?hours=0") == 200);
  CHECK(rig.site.calls.back() == "chart living core 0");
  CHECK(status_of(core + "?hours=-1") == 400);
  CHECK(status_of("/api/v1/notes?before=7&limit=200") == 200);
  CHECK(rig.site.calls.back() == "notes 7 200");
  CHECK(status_of("/api/v1/audit?limit=201") == 400);
  CHECK(rig.ask(Role::owner, {"GET", series + "?limit=0"})
            .body.find(R"(query \"limit\": expected a whole number from 1 to 10000)") !=
        std::string::npos);
}

TEST_CASE("BodiesAreReadStrictly") {
  WebRig rig;
  const auto status_of = [&](const std::string& body) {
    return rig.ask(Role::crew, json_post("/api/v1/notes", body)).status;
  };
  CHECK(status_of(R"({"kind":"gate","room":"living","subject":"moisture","answer":"met",
    "remark":"r","photos":["ab"],"at_utc":"2026-03-02T06:00:00Z"})") == 201);
  REQUIRE(rig.site.noted.size() == 1);
  CHECK(rig.site.noted[0].answer == "met");
  CHECK(rig.site.noted[0].photo_sha256_hex == std::vector<std::string>{"ab"});
  CHECK(rig.site.noted[0].at == kNow - Micros{3'600'000'000});
  CHECK_FALSE(rig.site.noted[0].carton_celsius);
  CHECK(rig.site.audited.back().detail == "gate 41");
  CHECK(status_of(R"({"kind":"delivery","carton_celsius":-4.25})") == 201);
  CHECK(rig.site.noted.back().carton_celsius == -4.25);
  CHECK(status_of(R"({"kind":"delivery","carton_celsius":18})") == 201);
  CHECK(rig.site.noted.back().carton_celsius == 18.0);
  for (const char* body : {"", "{", "[]", "null", "7", R"({"kind":"a"} x)"}) {
    INFO(body);
    CHECK(status_of(body) == 400);
  }
  for (const char* body : {"{}", R"({"kind":7})", R"({"kind":""})", R"({"kind":"a","photos":"b"})",
                           R"({"kind":"a","photos":[1]})", R"({"kind":"a","at_utc":"yesterday"})",
                           R"({"kind":"a","at_utc":7})", R"({"kind":"a","carton_celsius":"18"})",
                           R"({"kind":"a","by":"somebody else"})"}) {
    INFO(body);
    CHECK(status_of(body) == 422);
  }
  CHECK(status_of(R"({"kind":"a","remark":")" + std::string(501, 'r') + "\"}") == 422);
  CHECK(rig.site.noted.size() == 3);
  Asked no_type = json_post("/api/v1/notes", "{}");
  no_type.headers.clear();
  CHECK(rig.ask(Role::crew, no_type).status == 415);
}

TEST_CASE("AnIdempotencyKeyIsATextInQuotes") {
  WebRig rig;
  const auto status_of = [&](const std::string& key) {
    Asked asked = json_post("/api/v1/notes", R"({"kind":"remark","remark":"r"})");
    asked.headers.push_back({"idempotency-key", key});
    return rig.ask(Role::crew, asked).status;
  };
  CHECK(status_of(R"("8e03978e-40d5")") == 201);
  REQUIRE(rig.site.noted.size() == 1);
  CHECK(rig.site.noted[0].idempotency_key == "8e03978e-40d5");
  CHECK(rig.site.noted[0].body == R"({"kind":"remark","remark":"r"})");
  CHECK(status_of('"' + std::string(100, 'k') + '"') == 201);
  for (const std::string& wrong :
       {std::string(), std::string("8e03978e"), std::string(R"("")"), std::string(R"(")"),
        std::string(R"("a"b")"), std::string("\"\xC3\xBC\""), std::string(R"("a\b")"),
        '"' + std::string(101, 'k') + '"'}) {
    INFO(wrong);
    CHECK(status_of(wrong) == 400);
  }
  CHECK(rig.site.noted.size() == 2);
}

TEST_CASE("ANoteThatWasThereIsNoNewRowOfTheAudit") {
  WebRig rig;
  const Asked asked = json_post("/api/v1/notes", R"({"kind":"remark","remark":"r"})");
  CHECK(rig.ask(Role::crew, asked).status == 201);
  REQUIRE(rig.site.audited.size() == 1);
  rig.site.note_was_there = true;
  const Response again = rig.ask(Role::crew, asked);
  CHECK(again.status == 201);
  CHECK(again.body == R"({"id":41})");
  CHECK(rig.site.audited.size() == 1);
}

TEST_CASE("WhatWasFoundOfAGateIsReadStrictly") {
  WebRig rig;
  const auto status_of = [&](const std::string& body) {
    return rig.ask(Role::crew, json_post("/api/v1/notes", body)).status;
  };
  CHECK(status_of(
            R"({"kind":"gate","choice":"water","below":"tile","approval":"a","lines":["0 cm=0 mm"],
    "holes":["40,75"],"service_hours":48,"drilled_at_utc":"2026-03-02T06:00:00Z","thickness_mm":100.5,
    "as_found":true})") == 201);
  const auto& note = rig.site.noted.back();
  CHECK(note.choice == "water");
  CHECK(note.below == "tile");
  CHECK(note.approval == "a");
  CHECK(note.lines == std::vector<std::string>{"0 cm=0 mm"});
  CHECK(note.holes == std::vector<std::string>{"40,75"});
  CHECK(note.service_hours == 48.0);
  CHECK(note.drilled_at == kNow - Micros{3'600'000'000});
  CHECK(note.thickness_mm == 100.5);
  CHECK(note.as_found);
  for (const char* body : {R"({"kind":"gate","lines":"0 cm"})", R"({"kind":"gate","as_found":1})",
                           R"({"kind":"gate","holes":[40]})", R"({"kind":"gate","choice":1})",
                           R"({"kind":"gate","service_hours":"48"})"}) {
    INFO(body);
    CHECK(status_of(body) == 422);
  }
  CHECK(status_of(R"({"kind":"gate","lines":[")" + std::string(2001, '0') + "\"]}") == 422);
}

TEST_CASE("AKeyGivenTwiceIsRefusedByItsName") {
  WebRig rig;
  const auto detail_of = [&](const std::string& body, int status) {
    const Response response = rig.ask(Role::crew, json_post("/api/v1/notes", body));
    CHECK(response.status == status);
    return nlohmann::json::parse(response.body).at("detail").get<std::string>();
  };
  CHECK(detail_of(R"({"kind":"remark","room":"a","room":"b"})", 422) ==
        "body \"room\": expected once");
  CHECK(detail_of(R"({"kind":"remark","remark":")" + std::string(501, 'r') + "\"}", 422) ==
        "body \"remark\": expected a text of at most 500 bytes");
  CHECK(rig.site.noted.empty());
}

TEST_CASE("EveryProblemNamesWhatWasExpected") {
  WebRig rig;
  const auto detail_of = [&](const Response& response, int status) {
    CHECK(response.status == status);
    const auto detail = nlohmann::json::parse(response.body).at("detail").get<std::string>();
    CHECK_FALSE(detail.empty());
    CHECK(detail.find('\n') == std::string::npos);
    return detail;
  };
  detail_of(rig.ask(std::nullopt, {"GET", "/api/v1/status"}), 401);
  detail_of(rig.ask(Role::shared, {"GET", "/api/v1/notes"}), 403);
  detail_of(rig.ask(Role::viewer, {"GET", "/api/v1/nothing"}), 404);
  CHECK(detail_of(rig.ask(Role::viewer, {"DELETE", "/api/v1/notes"}), 405) ==
        "DELETE: expected GET, POST");
  Request request = rig.request({"POST", "/api/v1/photos"});
  request.headers.push_back({"authorization", "Bearer " + rig.person(Role::crew).token});
  request.fault = 413;
  CHECK(detail_of(rig.send(request), 413) ==
        "the body is too long; expected at most 20971520 bytes");
  for (const int fault : {400, 431, 503}) {
    request.fault = fault;
    detail_of(rig.send(request), fault);
  }
  rig.site.fails_with = logger::store::Error{ErrorCode::no_space, "why", 0};
  detail_of(rig.ask(Role::viewer, {"GET", "/api/v1/notes"}), 507);
  rig.site.fails_with = logger::store::Error{ErrorCode::not_found, "room x: expected one of a", 0};
  CHECK(detail_of(rig.ask(Role::viewer, {"GET", "/api/v1/rooms/x/series"}), 404) ==
        "room x: expected one of a");
  CHECK(detail_of(rig.ask(Role::viewer, {"GET", "/api/v1/rooms/x/charts/core.svg"}), 404) ==
        "room x: expected one of a");
}

TEST_CASE("WhatIsDoneGoesOnRecordUnderWhoDidIt") {
  WebRig rig;
  CHECK(rig.ask(Role::crew, json_post("/api/v1/alerts/acknowledge",
                                      R"({"key":"climate/living/out-of-band","remark":"seen"})"))
            .status == 204);
  CHECK(rig.site.calls.back() == "acknowledge climate/living/out-of-band by t2: seen");
  CHECK(rig.site.audited.back().action == "acknowledge");
  const Response photo = rig.ask(Role::crew, {"POST", "/api/v1/photos", "picture"});
  CHECK(photo.status == 201);
  CHECK(nlohmann::json::parse(photo.body).at("sha256") == kPhotoDigest);
  CHECK(rig.ask(Role::crew, {"POST", "/api/v1/photos", ""}).status == 422);
  const Response file = rig.ask(Role::viewer, {"GET", "/api/v1/certificates/C-1/json"});
  CHECK(file.status == 200);
  CHECK(header_in(file, "content-disposition") == R"(attachment; filename="C-1____x__y.json")");
  CHECK(rig.site.audited.back().action == "certificate-fetched");
  CHECK(rig.site.audited.back().detail == "C-1 json");
}

}  // namespace web_tests
