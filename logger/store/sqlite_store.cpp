#include "logger/store/sqlite_store.hpp"

#include <algorithm>

#include "logger/store/delivery_rows.hpp"
#include "logger/store/log/leaf_salt.hpp"
#include "logger/store/record_rows.hpp"
#include "logger/store/store_file.hpp"

namespace logger::store {
namespace {

std::optional<std::string> unfit_gap(const Gap& gap) {
  if (gap.box_id.empty()) {
    return "a gap without a box id";
  }
  if (gap.first_sequence < 0 || gap.last_sequence < gap.first_sequence) {
    return "gap of box " + gap.box_id + ": sequences " + std::to_string(gap.first_sequence) + ".." +
           std::to_string(gap.last_sequence) + " are no range";
  }
  return std::nullopt;
}

// Why a batch cannot be stored, or nothing.
std::optional<std::string> unfit_batch(const CommitBatch& batch) {
  for (const BoxBatch& box : batch.boxes) {
    if (box.box_id.empty()) {
      return "records without a box id";
    }
    for (const Record& record : box.records) {
      if (std::optional<std::string> unfit = unfit_record(record)) {
        return "box " + box.box_id + ", " + *unfit;
      }
    }
  }
  for (const Gap& gap : batch.gaps) {
    if (std::optional<std::string> unfit = unfit_gap(gap)) {
      return unfit;
    }
  }
  return std::nullopt;
}

bool has_records(const CommitBatch& batch) {
  return std::any_of(batch.boxes.begin(), batch.boxes.end(),
                     [](const BoxBatch& box) { return !box.records.empty(); });
}

// Runs `write` for each item until one fails.
template <class Items, class Write>
Result<void> for_each(const Items& items, Write write) {
  for (const auto& item : items) {
    if (Result<void> done = write(item); !done) {
      return done;
    }
  }
  return {};
}

}  // namespace

template <class T>
Result<T> SqliteStore::in_transaction(const std::function<Result<T>()>& work) {
  if (Result<void> begun = write_row(connection_, "BEGIN IMMEDIATE"); !begun) {
    return Failure{begun.error()};
  }
  Result<T> result = work();
  if (result) {
    Result<void> done = log_ ? log_->finish() : Result<void>{};
    log_.reset();
    if (done) {
      done = write_row(connection_, "COMMIT");
    }
    if (done) {
      return result;
    }
    result = Failure{done.error()};
  }
  if (connection_.in_transaction()) {
    // A failed rollback changes nothing: uncommitted pages are not read again after it.
    static_cast<void>(write_row(connection_, "ROLLBACK"));
  }
  log_.reset();
  box_keys_.clear();  // some may have been added by what was just undone
  Error error = result.error();
  error.context += "; nothing of it was written";
  return Failure{std::move(error)};
}

Result<void> SqliteStore::log_row(const RowName& row, std::string_view leaf) {
  if (!log_) {
    // Another program may have written since, so the log goes on from what the file says.
    Result<LogAppender> opened = LogAppender::open(connection_);
    if (!opened) {
      return Failure{opened.error()};
    }
    log_.emplace(std::move(opened).value());
  }
  return log_->add(row, leaf);
}

template <class Item>
Result<std::int64_t> SqliteStore::log_last_row(LeafKind kind, Item item,
                                               std::string (*leaf_from)(const Item&)) {
  item.id = connection_.last_row_id();
  const Result<void> logged = log_row({.kind = kind, .number = item.id}, leaf_from(item));
  return logged ? Result<std::int64_t>{item.id} : Failure{logged.error()};
}

Result<CommitCounts> SqliteStore::commit(const CommitBatch& batch) {
  if (const std::optional<std::string> unfit = unfit_batch(batch)) {
    return failure(ErrorCode::invalid_input,
                   "store " + connection_.path() + ": " + *unfit + "; nothing of it was written");
  }
  return in_transaction<CommitCounts>([&]() -> Result<CommitCounts> {
    CommitCounts counts;
    if (const Result<void> written = write_batch(batch, counts); !written) {
      return Failure{written.error()};
    }
    return counts;
  });
}

Result<void> SqliteStore::write_batch(const CommitBatch& batch, CommitCounts& counts) {
  if (has_records(batch)) {
    if (Result<void> marked = require_mark(); !marked) {
      return marked;
    }
  }
  Result<void> done =
      for_each(batch.boxes, [&](const BoxBatch& box) { return write_box(box, counts); });
  if (done) {
    done = write_gaps(batch.gaps);
  }
  if (done) {
    done = write_events(batch.events);
  }
  if (done) {
    done = write_accounts(batch.accounts);
  }
  if (done) {
    done = write_alert_states(batch.alert_states);
  }
  if (done) {
    done = write_messages(batch.messages);
  }
  if (done) {
    done = write_deliveries(batch.deliveries);
  }
  if (done && batch.seen_at) {
    done = write_seen_at(*batch.seen_at);
  }
  return done;
}

Result<void> SqliteStore::require_mark() {
  const Result<std::optional<bool>> marked = simulated();
  if (!marked) {
    return Failure{marked.error()};
  }
  if (!marked.value()) {
    return failure(ErrorCode::invalid_input,
                   "store " + connection_.path() +
                       ": it is marked neither as simulated nor as real, so it takes no records");
  }
  return {};
}

Result<void> SqliteStore::write_box(const BoxBatch& box, CommitCounts& counts) {
  const Result<std::int64_t> key = add_box(box.box_id);
  if (!key) {
    return Failure{key.error()};
  }
  Result<RecordInsert> insert = RecordInsert::open(connection_, key.value());
  if (!insert) {
    return Failure{insert.error()};
  }
  for (const Record& record : box.records) {
    const Result<RecordFate> fate = insert.value().add(record);
    if (!fate) {
      return Failure{fate.error()};
    }
    if (fate.value() == RecordFate::inserted) {
      ++counts.inserted;
      const Result<void> logged =
          log_row({LeafKind::record, key.value(), record.id.boot, record.id.sequence, 0},
                  leaf_from_record(box.box_id, as_stored(record)));
      if (!logged) {
        return logged;
      }
    }
    counts.repeated += fate.value() == RecordFate::repeated ? 1 : 0;
    if (fate.value() == RecordFate::conflicting) {
      counts.conflicting.push_back({box.box_id, record.id});
    }
  }
  return for_each(box.exchanges, [&](const std::pair<std::uint32_t, ClockExchange>& exchange) {
    return write_exchange(box.box_id, key.value(), exchange.first, exchange.second);
  });
}

Result<void> SqliteStore::write_exchange(const std::string& box_id, std::int64_t box,
                                         std::uint32_t boot, const ClockExchange& clock) {
  Result<void> written = write_row(
      connection_,
      "INSERT INTO exchanges (box, boot, ticks_ms, host_utc_us, error_us) "
      "VALUES (?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
      box, std::int64_t{boot}, clock.ticks_ms, clock.utc.value, std::int64_t{clock.error.count()});
  if (!written || connection_.rows_changed() == 0) {
    return written;
  }
  return log_row({LeafKind::exchange, box, boot, clock.ticks_ms, 0},
                 leaf_from_exchange(box_id, boot, clock));
}

Result<void> SqliteStore::write_gaps(const std::vector<Gap>& gaps) {
  return for_each(gaps, [&](const Gap& gap) -> Result<void> {
    const Result<std::int64_t> key = add_box(gap.box_id);
    if (!key) {
      return Failure{key.error()};
    }
    Result<void> written =
        write_row(connection_,
                  "INSERT INTO gaps (box, boot, first_sequence, last_sequence, reason, "
                  "noted_utc_us) VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
                  key.value(), std::int64_t{gap.boot}, gap.first_sequence, gap.last_sequence,
                  static_cast<std::int64_t>(gap.reason), gap.noted_at.value);
    if (!written || connection_.rows_changed() == 0) {
      return written;
    }
    return log_row({LeafKind::gap, key.value(), gap.boot, gap.first_sequence, gap.last_sequence},
                   leaf_from_gap(gap));
  });
}

Result<void> SqliteStore::write_events(const std::vector<Event>& events) {
  return for_each(events, [&](const Event& event) {
    Result<void> written = write_row(connection_,
                                     "INSERT INTO events (at_utc_us, kind, subject, detail_json) "
                                     "VALUES (?, ?, ?, ?)",
                                     event.at.value, event.kind, event.subject, event.detail_json);
    if (!written) {
      return written;
    }
    const Result<std::int64_t> id = log_last_row(LeafKind::event, event, leaf_from_event);
    return id ? Result<void>{} : Failure{id.error()};
  });
}

// An unchanged row is left alone, so that its page is not written again.
Result<void> SqliteStore::write_accounts(const std::vector<Account>& accounts) {
  return for_each(accounts, [&](const Account& account) {
    return write_row(connection_,
                     "INSERT INTO accounts (room_id, fingerprint, state_json) VALUES (?, ?, ?) "
                     "ON CONFLICT (room_id) DO UPDATE SET fingerprint = excluded.fingerprint, "
                     "state_json = excluded.state_json WHERE fingerprint <> excluded.fingerprint "
                     "OR state_json <> excluded.state_json",
                     account.room_id, account.fingerprint, account.state_json);
  });
}

Result<void> SqliteStore::write_alert_states(const std::vector<AlertState>& states) {
  return for_each(states, [&](const AlertState& state) {
    return write_row(connection_,
                     "INSERT INTO alert_states (alert_key, state_json) VALUES (?, ?) "
                     "ON CONFLICT (alert_key) DO UPDATE SET state_json = excluded.state_json "
                     "WHERE state_json <> excluded.state_json",
                     state.key, state.state_json);
  });
}

Result<void> SqliteStore::write_messages(const std::vector<Message>& messages) {
  return for_each(messages, [&](Message message) {
    Result<void> written = fill_salt(message.salt);
    if (written) {
      written =
          write_row(connection_,
                    "INSERT INTO messages (at_utc_us, alert_key, transition, payload_json, "
                    "delivered_utc_us, next_attempt_utc_us, attempts, last_error, salt) "
                    "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
                    message.at.value, message.alert_key, message.transition, message.payload_json,
                    micros_if(message.delivered_at), micros_if(message.next_attempt_at),
                    std::int64_t{message.attempts}, message.last_error, Blob{message.salt});
    }
    if (!written) {
      return written;
    }
    const Result<std::int64_t> id =
        log_last_row(LeafKind::salted_message, message, leaf_from_message);
    return id ? Result<void>{} : Failure{id.error()};
  });
}

Result<void> SqliteStore::write_deliveries(const std::vector<Delivery>& deliveries) {
  return for_each(deliveries,
                  [&](const Delivery& delivery) { return insert_delivery(connection_, delivery); });
}

Result<void> SqliteStore::write_seen_at(UtcMicros seen_at) {
  return write_row(connection_,
                   "UPDATE store_state SET last_seen_utc_us = ?1 "
                   "WHERE last_seen_utc_us IS NULL OR last_seen_utc_us < ?1",
                   seen_at.value);
}

Result<std::int64_t> SqliteStore::append_note(const Note& note) {
  Note salted = note;
  if (const Result<void> drawn = fill_salt(salted.salt); !drawn) {
    return Failure{drawn.error()};
  }
  return in_transaction<std::int64_t>([&]() -> Result<std::int64_t> {
    const Result<void> written =
        write_row(connection_,
                  "INSERT INTO notes (at_utc_us, noted_utc_us, kind, room_id, noted_by, "
                  "content_json, salt) VALUES (?, ?, ?, ?, ?, ?, ?)",
                  salted.at.value, salted.noted_at.value, salted.kind, salted.room_id, salted.by,
                  salted.content_json, Blob{salted.salt});
    if (!written) {
      return Failure{written.error()};
    }
    return log_last_row(LeafKind::salted_note, salted, leaf_from_note);
  });
}

Result<std::int64_t> SqliteStore::append_calibration(const Calibration& calibration) {
  Calibration salted = calibration;
  if (const Result<void> drawn = fill_salt(salted.salt); !drawn) {
    return Failure{drawn.error()};
  }
  return in_transaction<std::int64_t>([&]() -> Result<std::int64_t> {
    const Result<std::int64_t> key = add_box(salted.box_id);
    if (!key) {
      return Failure{key.error()};
    }
    const Result<void> written = write_row(
        connection_,
        "INSERT INTO calibrations (box, channel_index, valid_from_utc_us, due_utc_us, gain, "
        "offset_file_unit, expanded_uncertainty_file_unit, calibrated_by, reference, "
        "noted_utc_us, salt) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        key.value(), std::int64_t{salted.channel_index}, salted.valid_from.value,
        salted.due_at.value, salted.gain, salted.offset, salted.expanded_uncertainty, salted.by,
        salted.reference, salted.noted_at.value, Blob{salted.salt});
    if (!written) {
      return Failure{written.error()};
    }
    return log_last_row(LeafKind::salted_calibration, salted, leaf_from_calibration);
  });
}

Result<void> SqliteStore::update_delivery(const Delivery& delivery) {
  return in_transaction<void>([&] { return store::update_delivery(connection_, delivery); });
}

Result<void> SqliteStore::mark_simulated(bool is_simulated) {
  const Result<std::optional<bool>> marked = simulated();
  if (!marked) {
    return Failure{marked.error()};
  }
  if (marked.value() == is_simulated) {
    return {};
  }
  return in_transaction<void>([&]() -> Result<void> {
    const auto text_of = [](bool simulated) { return simulated ? "simulated" : "real"; };
    Result<void> written =
        write_row(connection_, "UPDATE store_state SET simulated = ? WHERE simulated IS NULL",
                  std::int64_t{is_simulated});
    // Another writer may have marked it between the read above and this transaction.
    if (written && connection_.rows_changed() == 0) {
      return failure(ErrorCode::invalid_input,
                     "store " + connection_.path() + ": it is marked as " + text_of(!is_simulated) +
                         " for ever, so it takes no " + text_of(is_simulated) +
                         " records; use another job folder");
    }
    return written ? log_row({.kind = LeafKind::mark}, leaf_from_mark(is_simulated)) : written;
  });
}

Result<bool> SqliteStore::begin_session() {
  return in_transaction<bool>([&]() -> Result<bool> {
    const auto open = state_column("SELECT session_open FROM store_state");
    if (!open) {
      return Failure{open.error()};
    }
    const Result<void> written =
        write_row(connection_, "UPDATE store_state SET session_open = 1 WHERE session_open = 0");
    if (!written) {
      return Failure{written.error()};
    }
    return open.value() == 1;
  });
}

Result<void> SqliteStore::end_session(bool check_passed) {
  if (!check_passed) {
    return {};
  }
  return in_transaction<void>([&] {
    return write_row(connection_, "UPDATE store_state SET session_open = 0 WHERE session_open = 1");
  });
}

Result<std::int64_t> SqliteStore::add_box(const std::string& box_id) {
  const Result<std::optional<std::int64_t>> found = find_box(box_id);
  if (!found) {
    return Failure{found.error()};
  }
  if (found.value()) {
    return *found.value();
  }
  const Result<void> added =
      write_row(connection_, "INSERT INTO boxes (box_id) VALUES (?)", box_id);
  if (!added) {
    return Failure{added.error()};
  }
  const std::int64_t key = connection_.last_row_id();
  box_keys_.emplace(box_id, key);
  return key;
}

Result<std::unique_ptr<ReadingStore>> open_sqlite_store(const std::string& path,
                                                        const OpenOptions& options) {
  Result<Connection> connection = open_store_file(path, options);
  if (!connection) {
    return Failure{connection.error()};
  }
  return std::unique_ptr<ReadingStore>{
      std::make_unique<SqliteStore>(std::move(connection).value())};
}

}  // namespace logger::store
