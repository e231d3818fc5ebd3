// What came of a rehearsal, read from its store: who would have been told what and when, and how
// the verdicts changed.
#pragma once

#include <string>
#include <vector>

#include "analysis/readiness/verdict.hpp"
#include "logger/app/commands/job_folder.hpp"

namespace logger::app {

struct RehearsedTelling {
  UtcMicros at;           // of the transition; of a digest when it was due
  UtcMicros due_at;       // when it would have been sent
  std::string recipient;  // empty = nobody: it stays in the store
  std::string kind;       // "fired", "cleared", "reminder", "escalation", "digest"
  int number = 0;         // of a reminder
  bool held = false;      // by quiet hours, until due_at
  bool was_sent = true;   // false: the scenario ended before
  std::string alert_key;
  std::string text;
};
struct RehearsedVerdict {
  UtcMicros at;  // to the hour: seen at its end
  std::string room_id;
  analysis::readiness::Verdict verdict;
};
// Why a room was not ready at any of the hours: a gate that was not met or unknown at the end.
struct RehearsedObstacle {
  std::string room_id;
  analysis::readiness::GateResult gate;
};
struct RehearsalReport {
  std::string scenario;
  std::string job_name;
  UtcMicros from;
  UtcMicros to;
  std::string time_zone;                     // of quiet hours and the digest
  std::vector<std::string> left_out;         // sentences
  std::vector<std::string> assumed;          // likewise
  std::vector<RehearsedTelling> tellings;    // by due_at
  std::vector<RehearsedVerdict> verdicts;    // by time; the first of each room and its changes
  std::vector<RehearsedObstacle> obstacles;  // of rooms that never became ready
};

// Fills in job name, time zone, `to`, tellings, verdicts and obstacles; REQUIRES: report.from is
// set.
[[nodiscard]] store::Result<void> read_rehearsal(OpenedJob& opened, RehearsalReport& report);

// For a terminal of 80 columns.
[[nodiscard]] std::string text_from_rehearsal(const RehearsalReport& report);
// One object, format "dwellog-rehearsal/1", trailing line end; docs/rehearse.md has its members.
[[nodiscard]] std::string json_from_rehearsal(const RehearsalReport& report);

}  // namespace logger::app
