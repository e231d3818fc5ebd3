#include "logger/store/log/log_takeover.hpp"

#include "logger/store/log/log_appender.hpp"

namespace logger::store {
namespace {

// Adds all rows of one table; gives how many.
Result<std::int64_t> add_table(Connection& connection, const LoggedTable& table, LogAppender& log) {
  Result<Statement> rows =
      connection.prepare(select_logged(table) + " WHERE " + table.is_of_kind +
                         " ORDER BY row_box, row_boot, row_number, row_last_number");
  if (!rows) {
    return Failure{rows.error()};
  }
  for (std::int64_t added = 0;; ++added) {
    const Result<bool> row = rows.value().step();
    if (!row) {
      return Failure{row.error()};
    }
    if (!row.value()) {
      return added;
    }
    const LoggedRow logged = logged_row_from(table, rows.value());
    if (rows.value().misfit()) {
      return rows.value().misfit_failure();
    }
    if (const Result<void> done = log.add(logged.name, logged.leaf); !done) {
      return Failure{done.error()};
    }
  }
}

}  // namespace

Result<void> take_over_rows(Connection& connection) {
  const Result<LogFrontier> before = read_frontier(connection);
  if (!before || before.value().size > 0) {
    return before ? Result<void>{} : Failure{before.error()};
  }
  Result<LogAppender> log = LogAppender::open(connection);
  if (!log) {
    return Failure{log.error()};
  }
  std::int64_t total = 0;
  for (const LoggedTable& table : logged_tables()) {
    const Result<std::int64_t> added = add_table(connection, table, log.value());
    if (!added) {
      return Failure{added.error()};
    }
    total += added.value();
  }
  if (total == 0) {
    return {};
  }
  // Nothing here reads a clock; the newest moment that the store knows of is when it was last used.
  const auto seen = connection.integer("SELECT last_seen_utc_us FROM store_state");
  if (!seen) {
    return Failure{seen.error()};
  }
  Event event{0, UtcMicros{seen.value().value_or(0)}, "log_begun", "",
              "{\"rows\":" + std::to_string(total) + "}"};
  Result<void> done = write_row(connection,
                                "INSERT INTO events (at_utc_us, kind, subject, detail_json) "
                                "VALUES (?, ?, ?, ?)",
                                event.at.value, event.kind, event.subject, event.detail_json);
  if (done) {
    event.id = connection.last_row_id();
    done = log.value().add({.kind = LeafKind::event, .number = event.id}, leaf_from_event(event));
  }
  return done ? log.value().finish() : done;
}

}  // namespace logger::store
