// What `dwellog status` says, as data. Made from the store alone; costs a day of records, not the
// whole log.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "logger/app/checkpoints/checkpoint_summary.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/room/room_tracker.hpp"

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

// The room's last certificate that no other took the place of.
struct CertificateLine {
  std::string number;
  UtcMicros issued_at;
  std::string supersedes;  // number; empty = none
};

struct RoomStatus {
  std::string room_id;
  std::string room_name;
  double floor_area_m2 = 0.0;
  std::string floor_product;
  double dwell_required_hours = 0.0;
  analysis::readiness::RoomAssessment assessment;
  analysis::readiness::DwellState dwell;
  std::vector<ChannelStatusLine> channels;
  std::optional<CertificateLine> certificate;
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

struct AlertLine {
  std::string key;
  std::string phase;  // "inactive", "pending", "firing"
  std::optional<UtcMicros> since;
};

struct StatusReport {
  std::string job_name;
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
  std::optional<CheckpointSummary> checkpoints;  // not of an earlier moment
  std::int64_t undelivered_messages = 0;
  std::int64_t lost_records = 0;
  std::int64_t undated_records = 0;
};

// `at`: the verdict as of that time, from a full replay; nullopt = now.
[[nodiscard]] store::Result<StatusReport> status_report_from(OpenedJob& opened,
                                                             std::optional<UtcMicros> at);

// For a terminal of 80 columns; plain text, no colour codes.
[[nodiscard]] std::string text_from_status(const StatusReport& report, bool imperial);
// Units in the key names; one object, trailing line end.
[[nodiscard]] std::string json_from_status(const StatusReport& report);

// 0 when every room is ready, 2 when one is not, else 3.
[[nodiscard]] int exit_status_of(const StatusReport& report);

}  // namespace logger::app
