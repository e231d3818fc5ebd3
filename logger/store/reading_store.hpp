// The one interface to what a job has recorded. Raw counts are kept for ever; everything derived can
// be rebuilt. One ReadingStore is used by one thread; any number of them may be open on one file, of
// which one at a time writes (others wait up to the busy time-out).
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "analysis/base/clock_map.hpp"
#include "analysis/base/record.hpp"
#include "analysis/base/time.hpp"
#include "logger/store/error.hpp"

namespace logger::store {

using analysis::base::ClockExchange;
using analysis::base::Record;
using analysis::base::RecordId;
using analysis::base::UtcMicros;

// Values are permanent (stored).
enum class GapReason : std::uint8_t {
  overflow = 1,  // the box had to overwrite records nobody had collected
  corrupt = 2,   // the box gave a record whose CRC-32 does not match, repeatedly
  missing = 3,   // a sequence number never came, and the box no longer holds it
};

// Records first..last (one boot, both included) are lost for ever.
struct Gap {
  std::string box_id;
  std::uint32_t boot = 0;
  std::int64_t first_sequence = 0;
  std::int64_t last_sequence = 0;
  GapReason reason = GapReason::missing;
  UtcMicros noted_at;
};

// Something that happened to the logger or its link: "link_down", "link_up", "clock_step", "boot",
// "configuration", "daemon_start", "daemon_stop", "simulated_mark", "late_data" ...
struct Event {
  std::int64_t id = 0;  // given by the store
  UtcMicros at;
  std::string kind;
  std::string subject;      // box id, room id or empty
  std::string detail_json;  // an object; units in its key names
};

// What a person recorded. Append only; a later note of the same kind and subject supersedes.
struct Note {
  std::int64_t id = 0;  // given by the store
  UtcMicros at;         // when it was observed
  UtcMicros noted_at;   // when it was written down
  std::string kind;     // "gate", "delivery", "calibration", "slab_test", "acknowledgement", "remark"
  std::string room_id;  // empty where it concerns the whole job
  std::string by;
  std::string content_json;  // an object; units in its key names
};

// A dated calibration of one channel: value = gain * nominal + offset, nominal = raw * scale.
struct Calibration {
  std::int64_t id = 0;  // given by the store
  std::string box_id;
  int channel_index = 0;
  UtcMicros valid_from;
  UtcMicros due_at;
  double gain = 1.0;
  double offset = 0.0;               // in the channel's file unit (celsius, percent_rh, volt)
  double expanded_uncertainty = 0.0; // k = 2, in the channel's file unit
  std::string by;
  std::string reference;
  UtcMicros noted_at;
};

// Incremental accounting of a room. `fingerprint` names the rules it was computed under; a reader
// with another fingerprint rebuilds from the records.
struct Account {
  std::string room_id;
  std::string fingerprint;
  std::string state_json;
};

// State of one alert rule instance, and a message to be delivered. Both opaque to the store.
struct AlertState {
  std::string key;
  std::string state_json;
};
struct Message {
  std::int64_t id = 0;  // given by the store
  UtcMicros at;
  std::string alert_key;
  std::string transition;    // "fired", "cleared"
  std::string payload_json;
  std::optional<UtcMicros> delivered_at;
  std::optional<UtcMicros> next_attempt_at;
  int attempts = 0;
  std::string last_error;
};

struct BoxBatch {
  std::string box_id;
  std::vector<Record> records;  // any order, repeats allowed
  std::vector<std::pair<std::uint32_t, ClockExchange>> exchanges;  // boot id first
};

// All of it is written in one transaction, or none of it.
struct CommitBatch {
  std::vector<BoxBatch> boxes;
  std::vector<Gap> gaps;       // a gap already stored is not stored again
  std::vector<Event> events;
  std::vector<Account> accounts;        // replace by room
  std::vector<AlertState> alert_states; // replace by key
  std::vector<Message> messages;
  std::optional<UtcMicros> seen_at;     // the logger was alive then
};

struct RecordRef {
  std::string box_id;
  RecordId id;
};
struct CommitCounts {
  std::int64_t inserted = 0;
  std::int64_t repeated = 0;          // same identity, same content: nothing to do
  std::vector<RecordRef> conflicting; // same identity, other content: the stored one is kept
};

// Records of one boot. Bounds by sequence are exact; both included.
struct BootSpan {
  std::uint32_t boot = 0;
  std::int64_t first_sequence = 0;
  std::int64_t last_sequence = 0;
};

class ReadingStore {
 public:
  ReadingStore() = default;
  ReadingStore(const ReadingStore&) = delete;
  ReadingStore& operator=(const ReadingStore&) = delete;
  virtual ~ReadingStore() = default;

  virtual Result<CommitCounts> commit(const CommitBatch& batch) = 0;
  virtual Result<std::int64_t> append_note(const Note& note) = 0;
  virtual Result<std::int64_t> append_calibration(const Calibration& calibration) = 0;
  virtual Result<void> update_message(const Message& message) = 0;

  // A store is marked as simulated or real by its first records and keeps that mark for ever; the
  // other kind is then refused with invalid_input. nullopt = no records yet.
  virtual Result<void> mark_simulated(bool simulated) = 0;
  [[nodiscard]] virtual Result<std::optional<bool>> simulated() = 0;
  // The newest seen_at of any commit.
  [[nodiscard]] virtual Result<std::optional<UtcMicros>> last_seen() = 0;

  [[nodiscard]] virtual Result<std::vector<BootSpan>> boots(const std::string& box_id) = 0;
  // The exchanges with ticks in from..to and the nearest one on each side, increasing in ticks. A
  // year holds some 100,000 a box, so ask for the span that is needed.
  [[nodiscard]] virtual Result<std::vector<ClockExchange>> exchanges(const std::string& box_id,
                                                                     std::uint32_t boot,
                                                                     std::int64_t from_ticks_ms,
                                                                     std::int64_t to_ticks_ms) = 0;
  // Visits records of one box in (boot, sequence) order, `from`..`to` both included; the visitor
  // returns false to stop.
  virtual Result<void> visit_records(const std::string& box_id, RecordId from, RecordId to,
                                     const std::function<bool(const Record&)>& visitor) = 0;
  // The record with the smallest sequence whose ticks are >= ticks_ms, in one boot. O(log n).
  [[nodiscard]] virtual Result<std::optional<RecordId>> find_by_ticks(const std::string& box_id,
                                                                      std::uint32_t boot,
                                                                      std::int64_t ticks_ms) = 0;
  [[nodiscard]] virtual Result<std::optional<Record>> last_record(const std::string& box_id) = 0;

  [[nodiscard]] virtual Result<std::vector<Gap>> gaps() = 0;
  [[nodiscard]] virtual Result<std::vector<Event>> events(std::int64_t after_id) = 0;
  [[nodiscard]] virtual Result<std::vector<Note>> notes(std::int64_t after_id) = 0;
  [[nodiscard]] virtual Result<std::vector<Calibration>> calibrations() = 0;
  [[nodiscard]] virtual Result<std::vector<Account>> accounts() = 0;
  [[nodiscard]] virtual Result<std::vector<AlertState>> alert_states() = 0;
  // Messages not delivered yet, oldest first; or the newest `limit` of all, newest first.
  [[nodiscard]] virtual Result<std::vector<Message>> undelivered_messages() = 0;
  [[nodiscard]] virtual Result<std::vector<Message>> recent_messages(int limit) = 0;
};

struct OpenOptions {
  bool create = false;     // make the file when it is missing
  bool read_only = false;
};

// The SQLite store. Migrates an older schema (writers only), refuses a newer one by version number.
[[nodiscard]] Result<std::unique_ptr<ReadingStore>> open_sqlite_store(const std::string& path,
                                                                      const OpenOptions& options);

}  // namespace logger::store
