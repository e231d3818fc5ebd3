// RAII over the two SQLite handles: a Connection closes itself, a Statement finalizes itself, a
// Query is a kept statement in use. Every SQLite result code becomes an Error here and nowhere
// else. Thread contract: one thread at a time for a connection and everything made from it.
#pragma once

#include <sqlite3.h>

#include <chrono>
#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "analysis/base/time.hpp"
#include "logger/store/error.hpp"

namespace logger::store {

struct Blob {
  std::string_view bytes;
};

// A prepared statement. Values are bound in the order of its parameters.
class Statement {
 public:
  // REQUIRES: raw is not null.
  explicit Statement(sqlite3_stmt* raw) : raw_(raw) {}

  // Texts and blobs are not copied: they must outlive the last step(). A failed bind is reported by
  // step().
  Statement& bind(std::int64_t value);
  Statement& bind(double value);
  Statement& bind(std::string_view text);
  Statement& bind(Blob blob);
  Statement& bind_null();
  Statement& bind(const std::optional<std::int64_t>& value);

  // True: a row is there to be read. False: done.
  Result<bool> step();
  // Steps a statement that gives no rows.
  Result<void> run();
  // Ready to be bound again; ends the read transaction that an unfinished SELECT holds.
  void reset();

  [[nodiscard]] int column_count() const { return sqlite3_column_count(raw_.get()); }
  // REQUIRES: step() gave true; columns count from 0.
  [[nodiscard]] std::int64_t integer(int column) const;
  [[nodiscard]] double real(int column) const;
  [[nodiscard]] std::string text(int column) const;
  [[nodiscard]] std::string blob(int column) const;
  [[nodiscard]] bool is_null(int column) const;
  [[nodiscard]] std::optional<std::int64_t> integer_if(int column) const;
  // A number that this column can only hold in T when the file is sound; misfit() otherwise.
  template <class T>
  [[nodiscard]] T number(int column) {
    const std::int64_t value = integer(column);
    misfit_ = misfit_ || !std::in_range<T>(value);
    return static_cast<T>(value);
  }
  // Of the row that is there now.
  [[nodiscard]] bool misfit() const { return misfit_; }
  // REQUIRES: misfit(). The corrupt error that names the statement.
  [[nodiscard]] Failure misfit_failure() const;

 private:
  struct Finalize {
    void operator()(sqlite3_stmt* raw) const { sqlite3_finalize(raw); }
  };
  void note_bind(int code);

  std::unique_ptr<sqlite3_stmt, Finalize> raw_;
  int next_parameter_ = 1;
  int bind_code_ = SQLITE_OK;
  bool misfit_ = false;
};

// A kept statement while it is used: reset when it goes out of scope.
class Query {
 public:
  explicit Query(Statement& statement) : statement_(&statement) {}
  Query(const Query&) = delete;
  Query& operator=(const Query&) = delete;
  ~Query() { statement_->reset(); }
  Statement* operator->() const { return statement_; }
  Statement& operator*() const { return *statement_; }

 private:
  Statement* statement_;
};

class Connection {
 public:
  // `flags` are those of sqlite3_open_v2. A missing file that is not to be made is not_found.
  static Result<Connection> open(const std::string& path, int flags,
                                 std::chrono::milliseconds busy_timeout);

  // Runs SQL that gives no rows that matter.
  Result<void> execute(const char* sql);
  Result<Statement> prepare(std::string_view sql);
  // The statement for this text, prepared at its first use and kept. One use at a time.
  Result<Statement*> kept(std::string_view sql);

  // The first column of the first row; nullopt when there is no row or it is NULL.
  Result<std::optional<std::int64_t>> integer(std::string_view sql);
  Result<std::string> text(std::string_view sql);

  // Makes `target` an equal of this database as it is at this moment, in one read transaction, so
  // that others may go on writing here.
  Result<void> copy_into(Connection& target);

  [[nodiscard]] std::int64_t rows_changed() const { return sqlite3_changes64(raw_.get()); }
  [[nodiscard]] std::int64_t last_row_id() const { return sqlite3_last_insert_rowid(raw_.get()); }
  // Every read from here to the end is of one moment. begin_reading in a transaction is
  // unavailable; end_reading outside of one does nothing.
  Result<void> begin_reading();
  void end_reading();
  [[nodiscard]] bool in_transaction() const { return sqlite3_get_autocommit(raw_.get()) == 0; }
  [[nodiscard]] const std::string& path() const { return path_; }
  [[nodiscard]] sqlite3* raw() const { return raw_.get(); }

 private:
  struct Close {
    void operator()(sqlite3* raw) const { sqlite3_close_v2(raw); }
  };
  Connection(sqlite3* raw, std::string path) : raw_(raw), path_(std::move(path)) {}

  std::unique_ptr<sqlite3, Close> raw_;
  std::string path_;
  std::map<std::string, Statement, std::less<>> kept_;  // finalized before raw_ closes
};

// Runs one statement that gives no rows, with these values (anything Statement::bind takes).
template <class... Values>
Result<void> write_row(Connection& connection, std::string_view sql, const Values&... values) {
  const Result<Statement*> kept = connection.kept(sql);
  if (!kept) {
    return Failure{kept.error()};
  }
  const Query query{*kept.value()};
  (query->bind(values), ...);
  return query->run();
}

// All rows of one SELECT with these values; `row_from` makes one of a Statement&.
template <class RowFrom, class... Values>
auto read_rows(Connection& connection, std::string_view sql, RowFrom row_from,
               const Values&... values)
    -> Result<std::vector<decltype(row_from(std::declval<Statement&>()))>> {
  const Result<Statement*> kept = connection.kept(sql);
  if (!kept) {
    return Failure{kept.error()};
  }
  const Query query{*kept.value()};
  (query->bind(values), ...);
  std::vector<decltype(row_from(std::declval<Statement&>()))> rows;
  while (true) {
    const Result<bool> row = query->step();
    if (!row) {
      return Failure{row.error()};
    }
    if (!row.value()) {
      return rows;
    }
    rows.push_back(row_from(*query));
    if (query->misfit()) {
      return query->misfit_failure();
    }
  }
}

// The first of those rows.
template <class RowFrom, class... Values>
auto read_row(Connection& connection, std::string_view sql, RowFrom row_from,
              const Values&... values)
    -> Result<std::optional<decltype(row_from(std::declval<Statement&>()))>> {
  auto rows = read_rows(connection, sql, row_from, values...);
  if (!rows) {
    return Failure{rows.error()};
  }
  std::optional<decltype(row_from(std::declval<Statement&>()))> first;
  if (!rows.value().empty()) {
    first = std::move(rows.value().front());
  }
  return first;
}

// A moment as columns that end in _utc_us hold it, and back.
[[nodiscard]] inline std::optional<std::int64_t> micros_if(
    const std::optional<analysis::base::UtcMicros>& at) {
  return at ? std::optional{at->value} : std::nullopt;
}
[[nodiscard]] inline std::optional<analysis::base::UtcMicros> utc_if(
    const std::optional<std::int64_t>& micros) {
  return micros ? std::optional{analysis::base::UtcMicros{*micros}} : std::nullopt;
}

}  // namespace logger::store
