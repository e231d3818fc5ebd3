#include "logger/store/delivery_rows.hpp"
#include "logger/store/log/fact_rows.hpp"
#include "logger/store/record_rows.hpp"
#include "logger/store/sqlite_store.hpp"

namespace logger::store {
namespace {

// {sequence, ticks_ms}
SqliteStore::Place place_from_row(Statement& row) { return {row.integer(0), row.integer(1)}; }

// Steps over the rows of visit_records until the visitor or the rows end.
Result<void> visit_rows(Statement& rows, const std::function<bool(const Record&)>& visitor) {
  while (true) {
    const Result<bool> row = rows.step();
    if (!row) {
      return Failure{row.error()};
    }
    if (!row.value()) {
      return {};
    }
    const Record record = record_from_row(rows);
    if (rows.misfit()) {
      return rows.misfit_failure();
    }
    if (!visitor(record)) {
      return {};
    }
  }
}

}  // namespace

Result<std::optional<std::int64_t>> SqliteStore::state_column(std::string_view sql) {
  const auto row = read_row(connection_, sql, [](Statement& r) { return r.integer_if(0); });
  if (!row) {
    return Failure{row.error()};
  }
  return row.value().value_or(std::nullopt);
}

Result<std::optional<bool>> SqliteStore::simulated() {
  const auto mark = state_column("SELECT simulated FROM store_state");
  if (!mark) {
    return Failure{mark.error()};
  }
  return mark.value() ? std::optional{*mark.value() != 0} : std::nullopt;
}

Result<std::uint64_t> SqliteStore::begin_snapshot() {
  if (const Result<void> begun = connection_.begin_reading(); !begun) {
    return Failure{begun.error()};
  }
  // The first read is what fixes the moment.
  const Result<LogFrontier> frontier = read_frontier(connection_);
  if (!frontier) {
    connection_.end_reading();
    return Failure{frontier.error()};
  }
  return frontier.value().size;
}

void SqliteStore::end_snapshot() { connection_.end_reading(); }

Result<std::optional<UtcMicros>> SqliteStore::last_seen() {
  const auto micros = state_column("SELECT last_seen_utc_us FROM store_state");
  if (!micros) {
    return Failure{micros.error()};
  }
  return micros.value() ? std::optional{UtcMicros{*micros.value()}} : std::nullopt;
}

Result<std::optional<std::int64_t>> SqliteStore::find_box(const std::string& box_id) {
  if (const auto known = box_keys_.find(box_id); known != box_keys_.end()) {
    return std::optional{known->second};
  }
  auto key = read_row(
      connection_, "SELECT box FROM boxes WHERE box_id = ?",
      [](Statement& row) { return row.integer(0); }, box_id);
  if (key && key.value()) {
    box_keys_.emplace(box_id, *key.value());
  }
  return key;
}

Result<std::vector<BootSpan>> SqliteStore::boots(const std::string& box_id) {
  const Result<std::optional<std::int64_t>> box = find_box(box_id);
  if (!box) {
    return Failure{box.error()};
  }
  std::vector<BootSpan> spans;
  // Jumps from boot to boot; a GROUP BY would read every record.
  for (std::int64_t after = -1; box.value().has_value();) {
    const auto first = read_row(
        connection_,
        "SELECT boot, sequence FROM records WHERE box = ? AND boot > ? "
        "ORDER BY boot, sequence LIMIT 1",
        [](Statement& row) {
          return RecordId{row.number<std::uint32_t>(0), row.integer(1)};
        },
        *box.value(), after);
    if (!first) {
      return Failure{first.error()};
    }
    if (!first.value()) {
      break;
    }
    const RecordId start = *first.value();
    const auto last = last_of_boot(*box.value(), start.boot);
    if (!last) {
      return Failure{last.error()};
    }
    spans.push_back(
        {start.boot, start.sequence, last.value() ? last.value()->sequence : start.sequence});
    after = start.boot;
  }
  return spans;
}

Result<std::optional<SqliteStore::Place>> SqliteStore::last_of_boot(std::int64_t box,
                                                                    std::int64_t boot) {
  return read_row(connection_,
                  "SELECT sequence, ticks_ms FROM records WHERE box = ? AND boot = ? "
                  "ORDER BY sequence DESC LIMIT 1",
                  place_from_row, box, boot);
}

Result<std::vector<ClockExchange>> SqliteStore::exchanges(const std::string& box_id,
                                                          std::uint32_t boot,
                                                          std::int64_t from_ticks_ms,
                                                          std::int64_t to_ticks_ms) {
  const Result<std::optional<std::int64_t>> box = find_box(box_id);
  if (!box) {
    return Failure{box.error()};
  }
  if (!box.value()) {
    return std::vector<ClockExchange>{};
  }
  return read_rows(
      connection_,
      "SELECT ticks_ms, host_utc_us, error_us FROM exchanges WHERE box = ?1 AND boot = ?2 "
      "AND ticks_ms >= ifnull((SELECT max(ticks_ms) FROM exchanges "
      "                        WHERE box = ?1 AND boot = ?2 AND ticks_ms < ?3), ?3) "
      "AND ticks_ms <= ifnull((SELECT min(ticks_ms) FROM exchanges "
      "                        WHERE box = ?1 AND boot = ?2 AND ticks_ms > ?4), ?4) "
      "ORDER BY ticks_ms",
      exchange_from_row, *box.value(), std::int64_t{boot}, from_ticks_ms, to_ticks_ms);
}

Result<void> SqliteStore::visit_records(const std::string& box_id, RecordId from, RecordId to,
                                        const std::function<bool(const Record&)>& visitor) {
  static const std::string sql = std::string("SELECT ") + kRecordColumns +
                                 " FROM records WHERE box = ? AND (boot, sequence) >= (?, ?) "
                                 "AND (boot, sequence) <= (?, ?) ORDER BY boot, sequence";
  const Result<std::optional<std::int64_t>> box = find_box(box_id);
  if (!box) {
    return Failure{box.error()};
  }
  if (!box.value()) {
    return {};
  }
  // Not a kept statement: the visitor may start another visit.
  Result<Statement> rows = connection_.prepare(sql);
  if (!rows) {
    return Failure{rows.error()};
  }
  rows.value()
      .bind(*box.value())
      .bind(std::int64_t{from.boot})
      .bind(from.sequence)
      .bind(std::int64_t{to.boot})
      .bind(to.sequence);
  return visit_rows(rows.value(), visitor);
}

Result<std::optional<RecordId>> SqliteStore::find_by_ticks(const std::string& box_id,
                                                           std::uint32_t boot,
                                                           std::int64_t ticks_ms) {
  const Result<std::optional<std::int64_t>> box = find_box(box_id);
  if (!box) {
    return Failure{box.error()};
  }
  if (!box.value()) {
    return std::optional<RecordId>{};
  }
  const auto last = last_of_boot(*box.value(), boot);
  if (!last) {
    return Failure{last.error()};
  }
  if (!last.value() || last.value()->ticks_ms < ticks_ms) {
    return std::optional<RecordId>{};
  }
  // The answer has its sequence in low..high - 1, or it is `found`.
  Place found = *last.value();
  for (std::int64_t low = 0, high = found.sequence; low < high;) {
    const std::int64_t middle = low + (high - low) / 2;
    const auto next = read_row(connection_,
                               "SELECT sequence, ticks_ms FROM records WHERE box = ? AND boot = ? "
                               "AND sequence >= ? ORDER BY sequence LIMIT 1",
                               place_from_row, *box.value(), std::int64_t{boot}, middle);
    if (!next) {
      return Failure{next.error()};
    }
    if (next.value() && next.value()->ticks_ms < ticks_ms) {
      low = next.value()->sequence + 1;
    } else {
      found = next.value().value_or(found);
      high = middle;
    }
  }
  return std::optional{RecordId{boot, found.sequence}};
}

Result<std::optional<Record>> SqliteStore::last_record(const std::string& box_id) {
  static const std::string sql = std::string("SELECT ") + kRecordColumns +
                                 " FROM records WHERE box = ? "
                                 "ORDER BY boot DESC, sequence DESC LIMIT 1";
  const Result<std::optional<std::int64_t>> box = find_box(box_id);
  if (!box) {
    return Failure{box.error()};
  }
  if (!box.value()) {
    return std::optional<Record>{};
  }
  return read_row(connection_, sql, record_from_row, *box.value());
}

Result<std::vector<Gap>> SqliteStore::gaps() {
  static const std::string sql = std::string("SELECT ") + kGapColumns +
                                 " FROM gaps ORDER BY 1, boot, first_sequence, last_sequence";
  return read_rows(connection_, sql, gap_from_row);
}

Result<std::vector<Event>> SqliteStore::events(std::int64_t after_id) {
  static const std::string sql =
      std::string("SELECT ") + kEventColumns + " FROM events WHERE id > ? ORDER BY id";
  return read_rows(connection_, sql, event_from_row, after_id);
}

Result<std::vector<Note>> SqliteStore::notes(std::int64_t after_id) {
  static const std::string sql =
      std::string("SELECT ") + kNoteColumns + " FROM notes WHERE id > ? ORDER BY id";
  return read_rows(connection_, sql, note_from_row, after_id);
}

Result<std::vector<Calibration>> SqliteStore::calibrations() {
  static const std::string sql =
      std::string("SELECT ") + kCalibrationColumns + " FROM calibrations ORDER BY id";
  return read_rows(connection_, sql, calibration_from_row);
}

Result<std::vector<Account>> SqliteStore::accounts() {
  return read_rows(connection_,
                   "SELECT room_id, fingerprint, state_json FROM accounts ORDER BY room_id",
                   [](Statement& row) {
                     return Account{row.text(0), row.text(1), row.text(2)};
                   });
}

Result<std::vector<AlertState>> SqliteStore::alert_states() {
  return read_rows(connection_, "SELECT alert_key, state_json FROM alert_states ORDER BY alert_key",
                   [](Statement& row) {
                     return AlertState{row.text(0), row.text(1)};
                   });
}

Result<std::vector<Delivery>> SqliteStore::waiting_deliveries() {
  return read_waiting_deliveries(connection_);
}

Result<std::vector<Delivery>> SqliteStore::recent_deliveries(int limit) {
  return read_recent_deliveries(connection_, limit);
}

Result<std::optional<UtcMicros>> SqliteStore::newest_delivery_at(std::string_view kind) {
  const auto micros = read_row(
      connection_, "SELECT max(at_utc_us) FROM deliveries WHERE kind = ?",
      [](Statement& row) { return row.integer_if(0); }, kind);
  if (!micros) {
    return Failure{micros.error()};
  }
  const auto newest = micros.value().value_or(std::nullopt);
  return newest ? std::optional{UtcMicros{*newest}} : std::nullopt;
}

Result<std::vector<Message>> SqliteStore::recent_messages(int limit) {
  // SQLite takes a negative limit for none.
  static const std::string sql =
      std::string("SELECT ") + kMessageColumns + " FROM messages ORDER BY id DESC LIMIT max(?, 0)";
  return read_rows(connection_, sql, message_from_row, std::int64_t{limit});
}

}  // namespace logger::store
