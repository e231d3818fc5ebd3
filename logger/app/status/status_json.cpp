#include <algorithm>
#include <nlohmann/json.hpp>

#include "logger/app/status/laid_lines.hpp"
#include "logger/app/status/note_lines.hpp"
#include "logger/app/status/status_headline.hpp"
#include "logger/app/status/status_report.hpp"
#include "logger/app/text/json_document.hpp"
#include "logger/app/text/json_time.hpp"

namespace logger::app {

using nlohmann::ordered_json;

namespace {

ordered_json forecast_json(const ReadyForecast& forecast) {
  return {{"ready_expected_at_utc", time_json(forecast.likely)},
          {"earliest_utc", time_json(forecast.earliest)},
          {"latest_utc", time_json(forecast.latest)},
          {"text", forecast.text}};
}

ordered_json limits_json(const RoomStatus& room) {
  return {{"temperature_low_celsius", room.band.temperature_low.value()},
          {"temperature_high_celsius", room.band.temperature_high.value()},
          {"relative_humidity_low_percent_rh", percent_from_rh(room.band.rh_low)},
          {"relative_humidity_high_percent_rh", percent_from_rh(room.band.rh_high)},
          {"core_within_kelvin",
           room.core_within ? ordered_json(room.core_within->value()) : ordered_json(nullptr)},
          {"slab_high_percent_rh", room.slab_limit ? ordered_json(percent_from_rh(*room.slab_limit))
                                                   : ordered_json(nullptr)},
          {"flatness_within_mm", room.flatness.within_mm},
          {"flatness_straightedge_m", room.flatness.straightedge_m}};
}

// The folder is the reader's own affair.
ordered_json missing_json(const RoomStatus& room) {
  ordered_json missing = ordered_json::array();
  for (const MissingNote& note : room.missing) {
    missing.push_back(
        {{"what", note.what}, {"why", why_of(note)}, {"command", command_of(note, "JOBDIR")}});
  }
  return missing;
}

ordered_json slab_tests_json(const RoomStatus& room) {
  ordered_json tests = ordered_json::array();
  for (const TestUnderWay& test : room.slab_tests) {
    tests.push_back({{"test", name_of(test.begun.test)},
                     {"begun_at_utc", time_json(test.begun.at)},
                     {"read_from_utc", time_json(test.read.earliest)},
                     {"read_until_utc", time_json(test.read.latest)},
                     {"because", test.read.because}});
  }
  return tests;
}

ordered_json room_json(const RoomStatus& room) {
  ordered_json gates = ordered_json::array();
  for (const auto& gate : room.assessment.gates) {
    gates.push_back({{"id", gate.id},
                     {"state", name_of(gate.state)},
                     {"reason", gate.reason},
                     {"action", gate.action},
                     {"wrong_probability_fraction", or_null(gate.wrong_probability)}});
  }
  ordered_json channels = ordered_json::array();
  for (const ChannelStatusLine& channel : room.channels) {
    channels.push_back({{"id", channel.channel_id},
                        {"box", channel.box_id},
                        {"role", name_of(channel.role)},
                        {"value_" + std::string(file_unit_of(channel.role)),
                         channel.value ? ordered_json(*channel.value) : ordered_json(nullptr)},
                        {"value_at_utc", time_json(channel.value_at)},
                        {"last_seen_at_utc", time_json(channel.last_seen_at)},
                        {"last_status", name_of(channel.last_status)},
                        {"last_quality", name_of(channel.last_quality)},
                        {"calibration_due_at_utc", time_json(channel.calibration_due_at)}});
  }
  ordered_json made{{"id", room.room_id},
                    {"name", room.room_name},
                    {"floor_area_m2", room.floor_area_m2},
                    {"floor_product", room.floor_product},
                    {"verdict", name_of(room.assessment.verdict)},
                    {"headline", ""},
                    {"laying", json_from_laying(room.laying)},
                    {"service", json_from_service(room.service, room.climate)},
                    {"forecast", forecast_json(room.forecast)},
                    {"limits", limits_json(room)},
                    {"dwell_done_hours", room.assessment.dwell_done_hours},
                    {"dwell_left_hours", room.assessment.dwell_left_hours},
                    {"dwell_required_hours", room.dwell_required_hours},
                    {"dwell_done_at_utc", time_json(room.assessment.dwell_done_at)},
                    {"dwell_expected_at_utc", time_json(room.assessment.dwell_expected_at)},
                    {"dwell_resets", room.dwell.resets},
                    {"unknown_share_fraction", room.assessment.unknown_share},
                    {"wrong_ready_probability_at_most_fraction",
                     or_null(room.assessment.wrong_ready_probability)},
                    {"gates", gates},
                    {"missing", missing_json(room)},
                    {"channels", channels},
                    {"slab_tests_begun", slab_tests_json(room)},
                    {"slab_tests", json_from_tests(room.test_results)},
                    {"last_certificate", room.certificate ? json_from_certificate(*room.certificate)
                                                          : ordered_json(nullptr)}};
  made["headline"] = headline_from(made);
  return made;
}

ordered_json checkpoints_json(const std::optional<CheckpointSummary>& summary) {
  if (!summary) {
    return nullptr;
  }
  ordered_json anchor = nullptr;
  if (summary->newest_anchor) {
    anchor = {{"entries", summary->newest_anchor->entries},
              {"stamped_at_utc", time_json(summary->newest_anchor->stamped_at)},
              {"authority", summary->newest_anchor->authority},
              {"verified", summary->newest_anchor->verified}};
  }
  return {{"log_entries", summary->log_entries},
          {"checkpoints", summary->checkpoints},
          {"newest_entries", summary->newest_entries},
          {"newest_issued_at_utc", time_json(summary->newest_issued_at)},
          {"entries_above_newest", summary->entries_above()},
          {"anchored", summary->anchored},
          {"queued", summary->queued},
          {"newest_anchor", anchor},
          {"stamps_unread_because", summary->stamps_unread_because},
          {"not_signed_because", summary->not_signed_because},
          {"faults", summary->faults}};
}

}  // namespace

ordered_json document_from_status(const StatusReport& report) {
  ordered_json rooms = ordered_json::array();
  for (const RoomStatus& room : report.rooms) {
    rooms.push_back(room_json(room));
  }
  ordered_json boxes = ordered_json::array();
  for (const BoxLine& box : report.boxes) {
    boxes.push_back({{"id", box.box_id},
                     {"link_up", box.link_up ? ordered_json(*box.link_up) : ordered_json(nullptr)},
                     {"since_utc", time_json(box.since)},
                     {"reason", box.reason},
                     {"refusal", box.refusal},
                     {"keeps_records", box.keeps_records},
                     {"records_kept_until_utc", time_json(box.records_kept_until)}});
  }
  ordered_json alerts = ordered_json::array();
  for (const AlertLine& alert : report.alerts) {
    alerts.push_back({{"key", alert.key},
                      {"rule", alert.rule},
                      {"subject", alert.subject},
                      {"phase", alert.phase},
                      {"since_utc", time_json(alert.since)},
                      {"text", alert.text},
                      {"acknowledged_at_utc", time_json(alert.acknowledged_at)},
                      {"acknowledged_by", alert.acknowledged_by}});
  }
  ordered_json messages = ordered_json::array();
  for (const store::Message& message : report.messages) {
    messages.push_back({{"at_utc", time_json(message.at)},
                        {"alert", message.alert_key},
                        {"transition", message.transition},
                        {"delivered_at_utc", time_json(message.delivered_at)},
                        {"attempts", message.attempts},
                        {"last_error", message.last_error}});
  }
  ordered_json deliveries = ordered_json::array();
  for (const DeliveryLine& line : report.deliveries) {
    deliveries.push_back({{"recipient", line.recipient},
                          {"in_job", line.in_job},
                          {"waiting", line.waiting},
                          {"held", line.held},
                          {"attempts", line.attempts},
                          {"last_error", line.last_error}});
  }
  ordered_json notes = ordered_json::array();
  for (const NoteLine& note : report.notes) {
    notes.push_back(json_from_note(note));
  }
  return {{"format", "dwellog-status/1"},
          {"job", report.job_name},
          {"site_address", report.site_address},
          {"installer", report.installer},
          {"client", report.client},
          {"simulated", report.simulated},
          {"at_utc", time_json(report.now)},
          {"rooms", rooms},
          {"boxes", boxes},
          {"logger_running", report.logger_running},
          {"logger_seen_at_utc", time_json(report.logger_seen_at)},
          {"alerts", alerts},
          {"messages", messages},
          {"deliveries", deliveries},
          {"notes", notes},
          {"certificates", json_from_certificates(report.certificates)},
          {"evidence_log", checkpoints_json(report.checkpoints)},
          {"undelivered_messages", report.undelivered_messages},
          {"lost_records", report.lost_records},
          {"undated_records", report.undated_records}};
}

std::string json_from_status(const StatusReport& report) {
  return text_from_document(document_from_status(report));
}

}  // namespace logger::app
