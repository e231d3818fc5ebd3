// What `dwellog status` says, as data. Made from the store alone; costs a day of records, not the
// whole log.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "analysis/certificate/facts.hpp"
#include "analysis/readiness/service/service_air.hpp"
#include "logger/app/checkpoints/checkpoint_summary.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/room/gate_notes.hpp"
#include "logger/app/room/room_tracker.hpp"
#include "logger/app/room/tests_under_way.hpp"
#include "logger/app/status/alert_lines.hpp"
#include "logger/app/status/certificate_lines.hpp"
#include "logger/app/status/delivery_lines.hpp"
#include "logger/app/status/test_results.hpp"

namespace logger::app {

struct ChannelStatusLine {
  std::string channel_id;
  std::string box_id;
  analysis::base::ChannelRole role = analysis::base::ChannelRole::room_air_temperature;
  std::optional<double> value;  // newest good one, in the file unit of the role
  std::optional<UtcMicros> value_at;
  std::optional<UtcMicros> last_seen_at;  // newest sample, good or bad
  analysis::base::ChannelStatus last_status = analysis::base::ChannelStatus::not_fitted;
  analysis::readiness::Quality last_quality = analysis::readiness::Quality::status_not_ok;
  std::optional<UtcMicros> calibration_due_at;
};

// When the hours and the core's warmth are expected to be there, if the room stays as it is or goes
// on as in the last hours; the other gates may take longer. nullopt = nothing can be said.
struct ReadyForecast {
  std::optional<UtcMicros> earliest;  // known more often than the others
  std::optional<UtcMicros> likely;
  std::optional<UtcMicros> latest;
  std::string text;  // what it rests on, or why there is none, and what is open beside it
};

struct RoomStatus {
  std::string room_id;
  std::string room_name;
  double floor_area_m2 = 0.0;
  std::string floor_product;
  double dwell_required_hours = 0.0;
  analysis::readiness::RoomAssessment assessment;
  analysis::readiness::DwellState dwell;
  analysis::readiness::ClimateBand band;                       // as it is decided by
  std::optional<analysis::base::RelativeHumidity> slab_limit;  // nullopt = not asked for
  std::optional<analysis::base::KelvinDelta> core_within;      // likewise
  ReadyForecast forecast;
  std::vector<ChannelStatusLine> channels;
  std::vector<MissingNote> missing;        // what nobody noted yet
  std::vector<MissingNote> to_note_again;  // gates noted as not met
  analysis::readiness::FlatnessLimit flatness;
  std::vector<TestUnderWay> slab_tests;        // begun, without a result
  std::vector<TestResult> test_results;        // of the slab, that count or were noted last
  std::optional<CertificateLine> certificate;  // the last that no other took the place of
  analysis::certificate::LayingFacts laying;
  analysis::readiness::ServiceClimate climate;             // to keep once it is laid
  std::optional<analysis::readiness::ServiceAir> service;  // nullopt = not laid
};

// What the daemon last noted of the link to a box.
struct BoxLine {
  std::string box_id;
  std::optional<bool> link_up;  // nullopt = never tried
  std::optional<UtcMicros> since;
  std::string reason;                           // why it is down
  std::string refusal;                          // what it answers, but not with values
  bool keeps_records = true;                    // false for a transmitter
  std::optional<UtcMicros> records_kept_until;  // a box whose link is down loses them from then on
};

// What a person noted, as it is shown.
struct NoteLine {
  std::int64_t id = 0;
  UtcMicros at;
  UtcMicros noted_at;
  std::string kind;
  std::string room_id;
  std::string by;
  std::string text;
  std::vector<std::string> photo_sha256_hex;
};

struct StatusReport {
  std::string job_folder;  // for commands that a terminal shows
  std::string job_name;
  std::string site_address;
  std::string installer;
  std::string client;
  bool simulated = false;
  bool past = false;  // asked for an earlier moment: boxes, alerts and messages, which are of now,
                      // are left out
  UtcMicros now;
  std::vector<RoomStatus> rooms;
  std::vector<BoxLine> boxes;                    // those that are collected from
  bool logger_running = false;                   // now
  std::optional<UtcMicros> logger_seen_at;       // the daemon's newest commit
  std::vector<AlertLine> alerts;                 // pending and firing ones
  std::vector<store::Message> messages;          // newest first
  std::vector<NoteLine> notes;                   // the newest kNotesShown, newest first
  std::vector<CertificateLine> certificates;     // of every room, newest first
  std::optional<CheckpointSummary> checkpoints;  // not of an earlier moment
  std::vector<DeliveryLine> deliveries;          // by recipient
  std::int64_t undelivered_messages = 0;         // deliveries that wait
  std::int64_t lost_records = 0;
  std::int64_t undated_records = 0;
};

inline constexpr std::size_t kNotesShown = 20;

// `at`: the verdict as of that time, from a full replay; nullopt = now.
[[nodiscard]] store::Result<StatusReport> status_report_from(OpenedJob& opened,
                                                             std::optional<UtcMicros> at);

// For a terminal of 80 columns; plain text, no colour codes.
[[nodiscard]] std::string text_from_status(const StatusReport& report, bool imperial);
// Units in the key names; one object, trailing line end.
[[nodiscard]] std::string json_from_status(const StatusReport& report);
// The same as a tree: format dwellog-status/1 (docs/api.md).
[[nodiscard]] nlohmann::ordered_json document_from_status(const StatusReport& report);
// Of such a document what may be shown to whoever was given a link: without what names people or
// the place, without remarks, notes, photos, certificates and messages.
[[nodiscard]] nlohmann::ordered_json shared_document_from(const nlohmann::ordered_json& document);

// 0 when every room is ready, 2 when one is not, else 3.
[[nodiscard]] int exit_status_of(const StatusReport& report);

}  // namespace logger::app
