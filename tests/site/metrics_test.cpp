#include <nlohmann/json.hpp>

#include "logger/web/api/metrics_text.hpp"
#include "tests/site/site_bench.hpp"

using nlohmann::ordered_json;
using site_tests::kBegin;

namespace {

const ordered_json kStatus = ordered_json::parse(R"({
  "simulated": false, "logger_seen_at_utc": "2026-03-02T08:59:00Z",
  "undelivered_messages": 2, "lost_records": 0, "undated_records": 1,
  "rooms": [{"id": "a\"b\\c\nd", "verdict": "not ready", "dwell_done_hours": 1.5,
             "dwell_left_hours": 46.5, "dwell_required_hours": 48.0,
             "gates": [{"id": "dwell", "state": "not met"}, {"id": "evidence", "state": "met"}],
             "channels": [
               {"id": "t", "role": "room_air_temperature", "value_celsius": -0.25,
                "value_at_utc": "2026-03-02T08:58:30Z", "last_quality": "good"},
               {"id": "rh", "role": "room_air_rh", "value_percent_rh": null,
                "value_at_utc": null, "last_quality": "frozen"}]}],
  "boxes": [{"id": "one", "link_up": false}, {"id": "two", "link_up": null}],
  "alerts": [
    {"rule": "probe_silent", "subject": "one", "phase": "firing", "acknowledged_at_utc": null},
    {"rule": "out_of_band", "subject": "a", "phase": "pending", "acknowledged_at_utc": null}]
})");

bool has_line(const std::string& text, const std::string& line) {
  return ("\n" + text).find("\n" + line + "\n") != std::string::npos;
}

}  // namespace

TEST_CASE("Figures have units in their names; what is not known is left out") {
  const std::string text = logger::web::metrics_text_from(kStatus, {1000, 2000, kBegin});
  const std::string room = R"(room="a\"b\\c\nd")";
  for (const std::string& line :
       {"dwellog_room_verdict{" + room + ",verdict=\"ready\"} 0",
        "dwellog_room_verdict{" + room + ",verdict=\"not ready\"} 1",
        "dwellog_room_dwell_done_hours{" + room + "} 1.5",
        "dwellog_room_gates_open{" + room + "} 1",
        "dwellog_channel_celsius{" + room + ",channel=\"t\",role=\"room_air_temperature\"} -0.25",
        "dwellog_channel_value_age_seconds{" + room + ",channel=\"t\"} 90.0",
        "dwellog_channel_good{" + room + ",channel=\"rh\"} 0",
        std::string("dwellog_alert_firing{rule=\"probe_silent\",subject=\"one\"} 1"),
        std::string("dwellog_alert_acknowledged{rule=\"probe_silent\",subject=\"one\"} 0"),
        std::string("dwellog_box_link_up{box=\"one\"} 0"),
        std::string("dwellog_logger_written_age_seconds 60.0"),
        std::string("dwellog_undelivered_messages 2"), std::string("dwellog_disk_free_bytes 1000"),
        std::string("dwellog_store_bytes 2000"), std::string("dwellog_simulated 0"),
        std::string("# TYPE dwellog_lost_records_total counter")}) {
    INFO(line << "\n--\n" << text);
    CHECK(has_line(text, line));
  }
  CHECK(text.find("percent_rh") == std::string::npos);
  CHECK(text.find("box=\"two\"") == std::string::npos);
  CHECK(text.find("out_of_band") == std::string::npos);
  CHECK(text.ends_with("\n"));
}
