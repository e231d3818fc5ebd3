// One room of a job, kept up to date: replay, persisted dwell state, site gates. The daemon feeds
// it record by record; a command opens it on a store, which costs a day of records, not the whole
// log.
#pragma once

#include <map>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "analysis/readiness/room_replay.hpp"
#include "analysis/readiness/slab/test_times.hpp"
#include "analysis/readiness/verdict.hpp"
#include "logger/app/job/job.hpp"
#include "logger/app/room/account_json.hpp"
#include "logger/app/room/history.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::app {

// What people recorded about a job.
struct JobRecords {
  std::vector<store::Note> notes;                // oldest first
  std::vector<store::Calibration> calibrations;  // oldest first
};
[[nodiscard]] store::Result<JobRecords> job_records_from(store::ReadingStore& store);
// What was so at that moment: without notes made of later than it, but for a delivery, which may be
// noted for later, and without calibrations that are valid from later on only.
[[nodiscard]] JobRecords records_as_of(JobRecords records, UtcMicros moment);
// What a note holds; an empty object where it can't be read.
[[nodiscard]] nlohmann::json content_of(const store::Note& note);

// Setup of a room from the job file and what people recorded (delivery, placement, calibrations).
[[nodiscard]] analysis::readiness::RoomSetup room_setup_from(const Job& job, const JobRoom& room,
                                                             const JobRecords& records);
// Outer size of one stack.
[[nodiscard]] analysis::physics::StackGeometry geometry_of(const JobStack& stack);
// Of that room, by the time they are of; of one time as they were noted.
[[nodiscard]] std::vector<const store::Note*> notes_by_time(const JobRecords& records,
                                                            const std::string& room_id);
// What people observed in a room, the newest of each kind; a slab test that does not count takes no
// place of one that does.
struct RoomNotes {
  std::vector<analysis::readiness::SiteGateNote> site_gates;
  analysis::readiness::SubfloorTests subfloor_tests;
  std::vector<analysis::readiness::TestBegun> begun_tests;  // begun, and no result noted since
  std::optional<UtcMicros> sleeves_drilled_at;  // as begun, or as the newest probe test says
  std::optional<UtcMicros> laid_at;  // laying is noted as finished, and did not begin anew
};
// `until`: among the notes made of up to that moment.
[[nodiscard]] RoomNotes room_notes_from(const JobRecords& records, const JobRoom& room,
                                        std::optional<UtcMicros> until = std::nullopt);
// The remark of the newest placement note of a channel; empty when there is none.
[[nodiscard]] std::string placement_remark_from(const JobRecords& records,
                                                const std::string& channel_id);

[[nodiscard]] const JobRoom* find_room(const Job& job, const std::string& room_id);
[[nodiscard]] const JobBox* find_box(const Job& job, const std::string& box_id);
// Boxes that carry a channel of the room, in the order of the job file.
[[nodiscard]] std::vector<std::string> boxes_of_room(const Job& job, const std::string& room_id);

class RoomTracker {
 public:
  // Resumes from the stored account when it was made under the same rules, else replays all
  // records. Feeds what the account has not seen yet and warms the windows. Reads only.
  [[nodiscard]] static store::Result<RoomTracker> open(store::ReadingStore& store, const Job& job,
                                                       const JobRoom& room,
                                                       const JobRecords& records);
  // Replays all records dated up to `until` (all when nullopt), whatever the stored account says.
  [[nodiscard]] static store::Result<RoomTracker> rebuild(store::ReadingStore& store,
                                                          const Job& job, const JobRoom& room,
                                                          const JobRecords& records,
                                                          std::optional<UtcMicros> until);

  // A record of one of the room's boxes, for each box in increasing order; a repeat changes
  // nothing.
  analysis::readiness::ReplayStep feed(const std::string& box_id, const Record& record,
                                       UtcMicros at);

  // The verdict at `now`, from what was fed.
  [[nodiscard]] analysis::readiness::RoomAssessment assess(UtcMicros now) const;
  [[nodiscard]] analysis::readiness::RoomEvidence evidence(UtcMicros now) const;
  [[nodiscard]] store::Account account() const;
  [[nodiscard]] const analysis::readiness::RoomReplay& replay() const { return replay_; }
  [[nodiscard]] const RoomNotes& notes() const { return notes_; }
  [[nodiscard]] const std::string& room_id() const { return replay_.setup().room_id; }

 private:
  RoomTracker(analysis::readiness::RoomSetup setup, const AccountState& resume, RoomNotes notes,
              std::vector<std::string> box_ids);
  store::Result<void> warm(store::ReadingStore& store);
  store::Result<void> catch_up(store::ReadingStore& store, std::optional<UtcMicros> until);

  analysis::readiness::RoomReplay replay_;
  RoomNotes notes_;
  std::vector<std::string> box_ids_;
  std::map<std::string, RecordId> through_;  // newest record fed, by box
  std::string fingerprint_;
};

}  // namespace logger::app
