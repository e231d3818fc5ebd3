#include <nlohmann/json.hpp>

#include "logger/app/commands/notes/record_note.hpp"
#include "logger/app/status/status_report.hpp"
#include "logger/store/json_line.hpp"
#include "tests/site/site_bench.hpp"

using namespace site_tests;
using nlohmann::ordered_json;

namespace {

ordered_json document_of(const SiteBench& bench) {
  auto opened = bench.open();
  const auto report = status_report_from(opened, std::nullopt);
  REQUIRE(report);
  return document_from_status(report.value());
}

void note(const SiteBench& bench, const std::string& kind, const std::string& subject,
          const std::string& answer, const std::string& room = "hall") {
  auto opened = bench.open(true);
  NoteOptions options;
  options.kind = kind;
  options.room = room;
  options.subject = subject;
  options.answer = answer;
  options.by = "Xperson";
  options.remark = kind == "remark" ? "" : "Xremark";
  REQUIRE(record_note(opened, options));
}

MadeDocument at(const ordered_json& document, std::int64_t seconds) {
  ordered_json timed = document;
  const UtcMicros moment = kBegin + Micros{seconds * 1'000'000};
  timed["at_utc"] = analysis::base::rfc3339_from_utc(moment);
  return {timed, moment};
}

}  // namespace

TEST_CASE("A version is of what the document says, or of a minute") {
  const ordered_json said = {{"rooms", ordered_json::array()},
                             {"boxes", ordered_json::array()},
                             {"alerts", ordered_json::array()}};
  SnapshotShelf shelf(at(said, 0));
  const auto first = shelf.current();
  CHECK(first->version == 1);
  CHECK_FALSE(shelf.offer(at(said, 59)));
  CHECK(shelf.current() == first);
  ordered_json other = said;
  other["lost_records"] = 3;
  CHECK(shelf.offer(at(other, 59)));
  CHECK(shelf.current()->version == 2);
  CHECK(first->status.contains("lost_records") == false);
  CHECK_FALSE(shelf.offer(at(other, 118)));
  CHECK(shelf.offer(at(other, 119)));
  CHECK(shelf.current()->version == 3);
  CHECK(shelf.current()->made_at == kBegin + Micros{119'000'000});
}

TEST_CASE("What is shared names neither people nor the place, whatever was noted") {
  SiteBench bench;
  bench.add_minutes(0, 200);
  note(bench, "delivery", "", "");
  note(bench, "gate", "clean", "met");
  note(bench, "gate", "flat", "not-met");
  note(bench, "remark", "Xtext", "");
  {
    const auto opened = bench.open(true);
    logger::store::Note acknowledged{};
    acknowledged.at = acknowledged.noted_at = kBegin + micros_from_hours(3);
    acknowledged.kind = "acknowledgement";
    acknowledged.by = "Xperson";
    acknowledged.content_json =
        R"({"alert_key": "probe_silent/one", "remark": "Xremark", "fired_at_utc": ")" +
        analysis::base::rfc3339_from_utc(kBegin + micros_from_hours(1)) + "\"}";
    REQUIRE(opened.store->append_note(acknowledged));
    logger::store::Event down{0, kBegin, "link_down", "one",
                              R"({"reason": "Xreason", "keeps_records": true})"};
    logger::store::Message told{};
    told.at = kBegin;
    told.alert_key = "probe_silent/one";
    told.transition = "fired";
    told.payload_json = R"({"text": "Xtold"})";
    told.last_error = "Xmail";
    const UtcMicros since = kBegin + micros_from_hours(1);
    const std::string state =
        R"({"cleared_count":0,"fired_count":1,"held_us":0,"holding":false,"phase":"firing",)"
        R"("since_utc_us":)" +
        std::to_string(since.value) + R"(,"stepped_at_utc_us":)" + std::to_string(since.value) +
        "}";
    REQUIRE(opened.store->commit(
        {.events = {down}, .alert_states = {{"probe_silent/one", state}}, .messages = {told}}));
  }
  const ordered_json full = document_of(bench);
  const std::string all = logger::store::json_line(full);
  for (const char* secret : {"Xjobname", "Xaddress", "Xinstaller", "Xclient", "Xperson", "Xremark",
                             "Xtext", "Xtold", "Xmail", "Xreason"}) {
    INFO(secret);
    CHECK(all.find(secret) != std::string::npos);
  }
  REQUIRE(full["alerts"].size() == 1);
  CHECK(full["alerts"][0]["text"] == "Xtold");
  CHECK(full["alerts"][0]["acknowledged_by"] == "Xperson");
  const ordered_json shared = shared_document_from(full);
  CHECK(shared.dump().find('X') == std::string::npos);
  REQUIRE(shared["rooms"].size() == 2);
  CHECK(shared["rooms"][0]["gates"].size() == full["rooms"][0]["gates"].size());
  CHECK(shared["rooms"][0]["verdict"] == full["rooms"][0]["verdict"]);
  CHECK(shared["alerts"].size() == 1);
}

TEST_CASE("The document tells limits, a headline, a forecast, notes and certificates") {
  SiteBench bench;
  bench.add_minutes(0, 200);
  const ordered_json before = document_of(bench);
  CHECK(before["rooms"][1]["forecast"]["ready_expected_at_utc"].is_null());
  note(bench, "delivery", "", "", "attic");  // at minute 200
  bench.add_minutes(201, 500);
  const ordered_json full = document_of(bench);
  const ordered_json& room = full["rooms"][1];
  CHECK(room["limits"]["temperature_low_celsius"] == 17.0);
  CHECK(room["limits"]["relative_humidity_high_percent_rh"].get<double>() == Approx(60.0));
  CHECK(room["limits"]["slab_high_percent_rh"].is_null());
  CHECK(room["headline"].get<std::string>().starts_with("Not ready: "));
  // In band since, and 48 hours are asked for; the first reading may come a minute after.
  const auto earliest =
      analysis::base::utc_from_rfc3339(room["forecast"]["earliest_utc"].get<std::string>());
  REQUIRE(earliest);
  const UtcMicros whole = kBegin + Micros{200 * kMinuteMs * 1000} + micros_from_hours(48);
  CHECK(*earliest >= whole);
  CHECK(*earliest <= whole + Micros{2 * kMinuteMs * 1000});
  CHECK(full["notes"].size() == 1);
  CHECK(full["notes"][0]["by"] == "Xperson");
  CHECK(full["certificates"].empty());
}
