// What a rehearsal makes of a job and of a scenario's text.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "logger/app/commands/rehearse/rehearsal_job.hpp"
#include "logger/app/commands/rehearse/rehearsal_scenario.hpp"
#include "logger/app/job/job_file.hpp"

using namespace logger::app;
using analysis::base::micros_from_hours;
using nlohmann::json;

namespace {

// Invented: a probe box whose channels lie elsewhere, a transmitter, an imported box, all ways to
// be told.
constexpr const char* kJob = R"json({
  // comments are allowed
  "format": "dwellog-job/1",
  "job": {"name": "House (invented)", "site_address": "x", "installer": "y", "client": ""},
  "rooms": [{"id": "a", "name": "A", "floor_area_m2": 20, "floor_product": "laminate"},
            {"id": "b", "name": "B", "floor_area_m2": 20, "floor_product": "laminate"},
            {"id": "c", "name": "C", "floor_area_m2": 20, "floor_product": "laminate"}],
  "boxes": [
    {"id": "probe", "serial": 77, "port": "/dev/x", "unit": 9, "baud": 9600, "channels": [
      {"index": 7, "id": "a-t", "room": "a", "role": "room_air_temperature", "units_per_count": 0.1},
      {"index": 3, "id": "a-rh", "room": "a", "role": "room_air_rh"},
      {"index": 0, "id": "out-t", "role": "outdoor_temperature"}]},
    {"id": "regs", "host": "192.0.2.7", "unit": 20, "registers": {}, "channels": [
      {"index": 0, "id": "b-t", "room": "b", "role": "room_air_temperature",
       "register": {"function": 3, "address": 0, "type": "i16", "unit": "celsius"}},
      {"index": 1, "id": "b-rh", "room": "b", "role": "room_air_rh",
       "register": {"function": 3, "address": 1, "type": "u16", "unit": "percent_rh"}}]},
    {"id": "book", "csv": {"time_column": "T"}, "channels": [
      {"index": 0, "id": "c-t", "room": "c", "role": "room_air_temperature", "csv_column": "t",
       "csv_unit": "celsius"},
      {"index": 1, "id": "c-rh", "room": "c", "role": "room_air_rh", "csv_column": "h",
       "csv_unit": "percent_rh"}]}],
  "page": {"port": 8460},
  "status_pushes": [{"url": "https://status.example/x"}],
  "checkpoints": {"time_stamp_url": "https://stamps.example", "authority_certificates": "a.pem"},
  "alerts": {
    "command": ["/usr/local/bin/send", "crew"],
    "mail_server": {"url": "smtps://mail.example:465", "from": "site@mail.example"},
    "mqtt_server": {"host": "mqtt.example", "topic": "site"},
    "recipients": [
      {"id": "ann", "mail": "ann@mail.example", "quiet_hours": {"from": "22:00", "to": "06:00"}},
      {"id": "hook", "webhook": {"url": "https://hook.example/x"}},
      {"id": "bus", "mqtt_topic": "alerts"}]}
})json";

bool holds_any(const std::string& text, std::initializer_list<const char*> parts) {
  return std::any_of(parts.begin(), parts.end(),
                     [&](const char* part) { return text.find(part) != std::string::npos; });
}

}  // namespace

TEST_CASE("The rehearsed job reaches nobody and no device, and is a job that can be read") {
  const auto original = job_from_text(kJob, "job.json");
  INFO((original.errors.empty() ? "" : text_of(original.errors.front())));
  REQUIRE(original.job);
  const auto made = rehearsal_job_from(kJob, "/scratch/line");
  REQUIRE(made);
  const auto reading = job_from_text(made.value().text, "job.json");
  INFO((reading.errors.empty() ? "" : text_of(reading.errors.front())));
  REQUIRE(reading.job);
  CHECK_FALSE(
      holds_any(made.value().text, {"example", "/usr/local", "192.0.2", "/dev/x", "8460", "pem"}));
  const JobAlerts& alerts = reading.job->alerts;
  CHECK(alerts.command == std::vector<std::string>{"true"});
  REQUIRE(alerts.recipients.size() == 3);
  CHECK(alerts.recipients[0].id == "ann");
  CHECK(alerts.recipients[0].quiet_hours == original.job->alerts.recipients[0].quiet_hours);
  for (const JobRecipient& recipient : alerts.recipients) {
    CHECK(recipient.command == std::vector<std::string>{"true"});
  }
}

TEST_CASE("Each box is one of the simulator's, each channel where that has it") {
  const auto made = rehearsal_job_from(kJob, "/scratch/line");
  REQUIRE(made);
  CHECK(made.value().boxes == std::vector<std::string>{"9:77:/scratch/line",
                                                       "1:900002:/scratch/line.2",
                                                       "1:900003:/scratch/line.3"});
  const auto boxes = json::parse(made.value().text).at("boxes");
  CHECK(boxes[0]["channels"].size() == 2);
  CHECK(boxes[0]["channels"][0]["index"] == 0);
  CHECK(boxes[0]["channels"][1]["index"] == 1);
  CHECK_FALSE(boxes[0]["channels"][0].contains("units_per_count"));
  REQUIRE(made.value().left_out.size() == 3);
  CHECK(made.value().left_out[0].starts_with("Channel out-t (outdoor_temperature)"));
  CHECK(made.value().left_out[1].starts_with("Box regs is read by registers"));
  CHECK(made.value().left_out[2].starts_with("Box book is filled by imports"));
}

TEST_CASE("Boxes on one line stay on one line") {
  auto job = json::parse(kJob, nullptr, true, true);
  job["boxes"].erase(2);
  job["boxes"][1] = job["boxes"][0];
  job["boxes"][1]["serial"] = 78;
  job["boxes"][1]["unit"] = 10;
  const auto made = rehearsal_job_from(job.dump(), "/scratch/line");
  REQUIRE(made);
  CHECK(made.value().boxes ==
        std::vector<std::string>{"9:77:/scratch/line", "10:78:/scratch/line"});
}

TEST_CASE("A job with nothing to simulate says so") {
  auto job = json::parse(kJob, nullptr, true, true);
  job["boxes"] = json::parse(
      R"([{"id": "x", "serial": 1, "port": "p",
           "channels": [{"index": 0, "id": "o", "role": "outdoor_rh"}]}])");
  CHECK(rehearsal_job_from(job.dump(), "/scratch/line").error().code ==
        logger::store::ErrorCode::unsupported);
}

TEST_CASE("Start and delivery are read from a scenario; boxes of its own are refused") {
  const auto read = rehearsal_scenario_from(
      "# words\nstart 2026-03-02T07:00:00Z  # when\nlength 2d\nat 1d2h30min cartons arrive at 4C\n"
      "at 40h cartons arrive\n",
      "own");
  REQUIRE(read);
  CHECK(read.value().start == *analysis::base::utc_from_rfc3339("2026-03-02T07:00:00Z"));
  CHECK(read.value().delivery_after == micros_from_hours(26.5));
  CHECK(read.value().length == micros_from_hours(48));
  CHECK(
      rehearsal_scenario_from("length 2d\n", "own").error().context.starts_with("own: no `start"));
  CHECK(rehearsal_scenario_from("start 2026-03-02T07:00:00Z\nbox 1\n", "own")
            .error()
            .context.starts_with("own:2: `box`"));
}
