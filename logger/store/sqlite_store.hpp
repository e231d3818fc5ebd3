// The ReadingStore in SQLite. Made by open_sqlite_store; nothing else needs this header.
#pragma once

#include <map>
#include <optional>
#include <string_view>

#include "logger/store/log/log_appender.hpp"
#include "logger/store/reading_store.hpp"
#include "logger/store/sqlite_handle.hpp"

namespace logger::store {

class SqliteStore final : public ReadingStore {
 public:
  // Where a record stands within its boot.
  struct Place {
    std::int64_t sequence = 0;
    std::int64_t ticks_ms = 0;
  };

  explicit SqliteStore(Connection connection) : connection_(std::move(connection)) {}

  Result<CommitCounts> commit(const CommitBatch& batch) override;
  Result<std::int64_t> append_note(const Note& note) override;
  Result<std::int64_t> append_calibration(const Calibration& calibration) override;
  Result<void> update_delivery(const Delivery& delivery) override;
  Result<void> mark_simulated(bool simulated) override;
  Result<std::optional<bool>> simulated() override;
  Result<bool> begin_session() override;
  Result<void> end_session(bool check_passed) override;
  Result<std::uint64_t> begin_snapshot() override;
  void end_snapshot() override;
  Result<std::optional<UtcMicros>> last_seen() override;
  Result<std::vector<BootSpan>> boots(const std::string& box_id) override;
  Result<std::vector<ClockExchange>> exchanges(const std::string& box_id, std::uint32_t boot,
                                               std::int64_t from_ticks_ms,
                                               std::int64_t to_ticks_ms) override;
  Result<void> visit_records(const std::string& box_id, RecordId from, RecordId to,
                             const std::function<bool(const Record&)>& visitor) override;
  Result<std::optional<RecordId>> find_by_ticks(const std::string& box_id, std::uint32_t boot,
                                                std::int64_t ticks_ms) override;
  Result<std::optional<Record>> last_record(const std::string& box_id) override;
  Result<std::vector<Gap>> gaps() override;
  Result<std::vector<Event>> events(std::int64_t after_id) override;
  Result<std::vector<Note>> notes(std::int64_t after_id) override;
  Result<std::vector<Calibration>> calibrations() override;
  Result<std::vector<Account>> accounts() override;
  Result<std::vector<AlertState>> alert_states() override;
  Result<std::vector<Message>> recent_messages(int limit) override;
  Result<std::vector<Delivery>> waiting_deliveries() override;
  Result<std::vector<Delivery>> recent_deliveries(int limit) override;
  Result<std::optional<UtcMicros>> newest_delivery_at(std::string_view kind) override;

 private:
  // Runs `work` in one write transaction: what it did is there whole, or nothing of it.
  template <class T>
  Result<T> in_transaction(const std::function<Result<T>()>& work);

  // Adds a row that this transaction has just written to the evidence log.
  Result<void> log_row(const RowName& row, std::string_view leaf);
  // Of a table that gives its own ids: logs the row written last, which is `item`; gives its id.
  template <class Item>
  Result<std::int64_t> log_last_row(LeafKind kind, Item item,
                                    std::string (*leaf_from)(const Item&));

  Result<void> write_batch(const CommitBatch& batch, CommitCounts& counts);
  Result<void> write_box(const BoxBatch& box, CommitCounts& counts);
  Result<void> write_exchange(const std::string& box_id, std::int64_t box, std::uint32_t boot,
                              const ClockExchange& clock);
  Result<void> write_gaps(const std::vector<Gap>& gaps);
  Result<void> write_events(const std::vector<Event>& events);
  Result<void> write_accounts(const std::vector<Account>& accounts);
  Result<void> write_alert_states(const std::vector<AlertState>& states);
  Result<void> write_messages(const std::vector<Message>& messages);
  Result<void> write_deliveries(const std::vector<Delivery>& deliveries);
  Result<void> write_seen_at(UtcMicros seen_at);
  Result<void> require_mark();

  // The integer key of a box; nullopt when the box is not known yet.
  Result<std::optional<std::int64_t>> find_box(const std::string& box_id);
  // The same, adding the box. REQUIRES: in a write transaction.
  Result<std::int64_t> add_box(const std::string& box_id);
  // The record with the greatest sequence of a boot.
  Result<std::optional<Place>> last_of_boot(std::int64_t box, std::int64_t boot);
  // A row of store_state; nullopt where the column is NULL.
  Result<std::optional<std::int64_t>> state_column(std::string_view sql);

  Connection connection_;
  std::optional<LogAppender> log_;  // of this transaction, from its first logged row on
  std::map<std::string, std::int64_t>
      box_keys_;  // of committed boxes, and those of this transaction
};

}  // namespace logger::store
