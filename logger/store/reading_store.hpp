// The one interface to what a job has recorded. Raw counts are kept for ever; everything derived
// can be rebuilt. One ReadingStore is used by one thread; any number of them may be open on one
// file, of which one at a time writes (others wait up to the busy time-out). Readers see whole
// commits only. Records, exchanges, gaps, events, notes and calibrations are append only, in the
// file too. Errors of every call: no_space and io (nothing was written), corrupt, timeout (another
// writer held the file longer than the busy time-out; try again), unavailable (writing through a
// read-only open).
#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
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

// Records first..last (one boot, both included) are lost for ever. Identity is (box, boot, first,
// last): the first one stored is kept. Gaps may overlap; a reader takes their union.
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
  std::string kind;  // "gate", "delivery", "calibration", "slab_test", "acknowledgement", "remark"
  std::string room_id;  // empty where it concerns the whole job
  std::string by;
  std::string content_json;  // an object; units in its key names
  // Hashed with the rest in the evidence log, so that its hash tells nothing to whoever tries
  // names: 16 bytes, drawn at random where it is given empty; rows of older stores have none.
  std::string salt{};
};

// A dated calibration of one channel: value = gain * nominal + offset, nominal = raw * scale.
struct Calibration {
  std::int64_t id = 0;  // given by the store
  std::string box_id;
  int channel_index = 0;
  UtcMicros valid_from;
  UtcMicros due_at;
  double gain = 1.0;
  double offset = 0.0;                // in the channel's file unit (celsius, percent_rh, volt)
  double expanded_uncertainty = 0.0;  // k = 2, in the channel's file unit
  std::string by;
  std::string reference;
  UtcMicros noted_at;
  std::string salt{};  // as that of a note
};

// Incremental accounting of a room. `fingerprint` names the rules it was computed under; a reader
// with another fingerprint rebuilds from the records.
struct Account {
  std::string room_id;
  std::string fingerprint;
  std::string state_json;
};

// State of one alert rule instance, and a message that tells of its transition. Both opaque to the
// store. What follows the payload is written no more: it is of stores from before deliveries.
struct AlertState {
  std::string key;
  std::string state_json;
};
struct Message {
  std::int64_t id = 0;  // given by the store
  UtcMicros at;
  std::string alert_key;
  std::string transition;  // "fired", "cleared"
  std::string payload_json;
  std::optional<UtcMicros> delivered_at;
  std::optional<UtcMicros> next_attempt_at;
  int attempts = 0;
  std::string last_error;
  std::string salt{};  // as that of a note: it tells the job's name
};

// One message, or several that a person gets as one, on its way to one recipient. What is to be
// delivered never changes; where it stands does, so that it is no part of the evidence log. The
// store keeps one row for each (recipient, kind, alert key, at, number): who tells twice of the
// same, by mistake or after a crash, tells once.
struct Delivery {
  std::int64_t id = 0;  // given by the store
  std::string recipient;
  std::string kind;       // "fired", "cleared", "reminder", "escalation", "digest"
  std::string alert_key;  // empty for a digest
  UtcMicros at;           // of the transition; of a digest the moment it was due
  int number = 0;         // of a reminder, from 1
  UtcMicros due_at;       // not to be sent before
  bool held = false;      // due later than it came up: quiet hours
  std::string payload_json;
  int attempts = 0;
  std::optional<UtcMicros> next_attempt_at;
  std::optional<UtcMicros> delivered_at;
  bool refused = false;  // by the last attempt: the other side will not take it as it is
  std::string last_error{};
  bool operator==(const Delivery&) const = default;
};

struct BoxBatch {
  std::string box_id;
  // Any order, repeats allowed. The raw count of a not_fitted channel is not kept: it reads back as
  // 0. A status above 15 or a negative sequence is invalid_input.
  std::vector<Record> records{};
  // Boot id first. One exchange for each (boot, ticks): the first one stored is kept.
  std::vector<std::pair<std::uint32_t, ClockExchange>> exchanges{};
};

// All of it is written in one transaction, or none of it. Name only what there is:
// {.boxes = {...}, .seen_at = now}.
struct CommitBatch {
  std::vector<BoxBatch> boxes{};
  std::vector<Gap> gaps{};  // a gap already stored is not stored again
  std::vector<Event> events{};
  std::vector<Account> accounts{};         // replace by room
  std::vector<AlertState> alert_states{};  // replace by key
  std::vector<Message> messages{};
  std::vector<Delivery> deliveries{};  // one that is there already is not stored again
  std::optional<UtcMicros> seen_at{};  // the logger was alive then; the newest one is kept
};

struct RecordRef {
  std::string box_id;
  RecordId id;
};
struct CommitCounts {
  std::int64_t inserted = 0;
  std::int64_t repeated = 0;           // same identity, same content: nothing to do
  std::vector<RecordRef> conflicting;  // same identity, other content: the stored one is kept
};

// Records of one boot. Bounds by sequence are exact; both included.
struct BootSpan {
  std::uint32_t boot = 0;
  std::int64_t first_sequence = 0;
  std::int64_t last_sequence = 0;
  bool operator==(const BootSpan&) const = default;
};

class ReadingStore {
 public:
  ReadingStore() = default;
  ReadingStore(const ReadingStore&) = delete;
  ReadingStore& operator=(const ReadingStore&) = delete;
  virtual ~ReadingStore() = default;

  // On disk (synchronous FULL) when it returns. Records need the mark of mark_simulated first:
  // without it invalid_input, and nothing is written. Ids inside the batch are ignored.
  virtual Result<CommitCounts> commit(const CommitBatch& batch) = 0;
  // Both give the new id. invalid_input for a salt of another length.
  virtual Result<std::int64_t> append_note(const Note& note) = 0;
  virtual Result<std::int64_t> append_calibration(const Calibration& calibration) = 0;
  // Stores where a delivery stands: attempts and all after it; the rest never changes. not_found
  // when there is no such delivery.
  virtual Result<void> update_delivery(const Delivery& delivery) = 0;

  // The first call marks the store as simulated or real, for ever; the other kind is then refused
  // with invalid_input, the same kind succeeds. nullopt = not marked, so no records yet.
  virtual Result<void> mark_simulated(bool simulated) = 0;
  [[nodiscard]] virtual Result<std::optional<bool>> simulated() = 0;

  // For the one long-lived writer (the daemon). begin_session sets a mark in the file and gives
  // true when an earlier session left its mark there (killed, power lost): run quick_check
  // (store_check.hpp) in the background then. end_session clears the mark; with check_passed false
  // it stays, so that the next session is asked for the check again.
  virtual Result<bool> begin_session() = 0;
  virtual Result<void> end_session(bool check_passed) = 0;

  // For readers (store_snapshot.hpp): from begin to end every read is of one moment, while others
  // write. Gives the number of entries that the evidence log had then. end_snapshot without a
  // begin does nothing.
  virtual Result<std::uint64_t> begin_snapshot() = 0;
  virtual void end_snapshot() = 0;

  // The newest seen_at of any commit.
  [[nodiscard]] virtual Result<std::optional<UtcMicros>> last_seen() = 0;

  // Increasing boot; empty for a box without records. O(boots * log n).
  [[nodiscard]] virtual Result<std::vector<BootSpan>> boots(const std::string& box_id) = 0;
  // The exchanges with ticks in from..to and the nearest one on each side, increasing in ticks. A
  // year holds some 100,000 a box, so ask for the span that is needed.
  [[nodiscard]] virtual Result<std::vector<ClockExchange>> exchanges(const std::string& box_id,
                                                                     std::uint32_t boot,
                                                                     std::int64_t from_ticks_ms,
                                                                     std::int64_t to_ticks_ms) = 0;
  // Visits records of one box in (boot, sequence) order, `from`..`to` both included; the visitor
  // returns false to stop. The visitor may call the reading functions of this store, never the
  // writing ones. All records are of one moment. O(log n + records visited), nothing is buffered.
  virtual Result<void> visit_records(const std::string& box_id, RecordId from, RecordId to,
                                     const std::function<bool(const Record&)>& visitor) = 0;
  // The record with the smallest sequence whose ticks are >= ticks_ms, in one boot; nullopt when
  // all are before. REQUIRES: ticks grow with sequence within a boot. O(log(sequences) * log n).
  [[nodiscard]] virtual Result<std::optional<RecordId>> find_by_ticks(const std::string& box_id,
                                                                      std::uint32_t boot,
                                                                      std::int64_t ticks_ms) = 0;
  // The one with the greatest (boot, sequence). O(log n).
  [[nodiscard]] virtual Result<std::optional<Record>> last_record(const std::string& box_id) = 0;

  // Gaps by (box id, boot, first sequence); the others by id, by room, by key.
  [[nodiscard]] virtual Result<std::vector<Gap>> gaps() = 0;
  [[nodiscard]] virtual Result<std::vector<Event>> events(std::int64_t after_id) = 0;
  [[nodiscard]] virtual Result<std::vector<Note>> notes(std::int64_t after_id) = 0;
  [[nodiscard]] virtual Result<std::vector<Calibration>> calibrations() = 0;
  [[nodiscard]] virtual Result<std::vector<Account>> accounts() = 0;
  [[nodiscard]] virtual Result<std::vector<AlertState>> alert_states() = 0;
  // The newest `limit`, newest first.
  [[nodiscard]] virtual Result<std::vector<Message>> recent_messages(int limit) = 0;
  // What is not delivered yet, due or not, oldest first; or the newest `limit` of all, newest
  // first; or when the newest one of a kind was made for.
  [[nodiscard]] virtual Result<std::vector<Delivery>> waiting_deliveries() = 0;
  [[nodiscard]] virtual Result<std::vector<Delivery>> recent_deliveries(int limit) = 0;
  [[nodiscard]] virtual Result<std::optional<UtcMicros>> newest_delivery_at(
      std::string_view kind) = 0;
};

struct OpenOptions {
  bool create = false;  // make the file when it is missing; not with read_only
  bool read_only = false;
  std::chrono::milliseconds busy_timeout{5000};  // how long to wait for another writer
  std::int64_t max_size_bytes = 0;  // the file never grows past it: no_space; 0 = no limit of ours
};

// The SQLite store. Errors: not_found (no such file and not to be made), unsupported (not a store
// of ours; a newer schema, refused by its number; an older one opened read-only: only writers
// migrate), corrupt, io, timeout, no_space.
[[nodiscard]] Result<std::unique_ptr<ReadingStore>> open_sqlite_store(const std::string& path,
                                                                      const OpenOptions& options);

}  // namespace logger::store
