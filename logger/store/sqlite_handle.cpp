#include "logger/store/sqlite_handle.hpp"

#include <cerrno>
#include <limits>

namespace logger::store {
namespace {

bool is_full_disk(int os_errno) { return os_errno == ENOSPC || os_errno == EDQUOT; }

ErrorCode error_code_from_sqlite(int extended_code, int os_errno) {
  if (is_full_disk(os_errno)) {
    return ErrorCode::no_space;
  }
  if (extended_code == SQLITE_IOERR_CORRUPTFS) {
    return ErrorCode::corrupt;
  }
  switch (extended_code & 0xff) {
    case SQLITE_FULL:
      return ErrorCode::no_space;
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
      return ErrorCode::corrupt;
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
    case SQLITE_PROTOCOL:
      return ErrorCode::timeout;
    case SQLITE_CONSTRAINT:
    case SQLITE_MISMATCH:
    case SQLITE_TOOBIG:
    case SQLITE_RANGE:
      return ErrorCode::invalid_input;
    case SQLITE_READONLY:
    case SQLITE_INTERRUPT:
    case SQLITE_NOMEM:
      return ErrorCode::unavailable;
    default:
      return ErrorCode::io;
  }
}

// Only these come from a system call that failed.
bool is_system_failure(int extended_code) {
  const int code = extended_code & 0xff;
  return code == SQLITE_IOERR || code == SQLITE_CANTOPEN || code == SQLITE_FULL;
}

// REQUIRES: errno was 0 before the SQLite call that gave `code`. sqlite3_system_errno() cannot be
// used: a COMMIT that fails does not set it.
Failure failure_from(sqlite3* db, const std::string& path, int code) {
  const int call_errno = errno;
  const bool current = db != nullptr && sqlite3_errcode(db) == code;
  const int extended = current ? sqlite3_extended_errcode(db) : code;
  const int os_errno = is_system_failure(extended) ? call_errno : 0;
  // SQLite calls it a disk I/O error, by many numbers.
  const char* message = is_full_disk(os_errno) ? "no space left on the disk"
                        : current              ? sqlite3_errmsg(db)
                                               : sqlite3_errstr(code);
  return failure(error_code_from_sqlite(extended, os_errno),
                 "store " + path + ": " + message + " (SQLite " + std::to_string(extended) + ")",
                 os_errno);
}

Failure failure_from(sqlite3_stmt* statement, int code) {
  sqlite3* db = sqlite3_db_handle(statement);
  const char* path = sqlite3_db_filename(db, "main");
  return failure_from(db, path != nullptr ? path : "", code);
}

}  // namespace

Statement& Statement::bind(std::int64_t value) {
  note_bind(sqlite3_bind_int64(raw_.get(), next_parameter_, value));
  return *this;
}

Statement& Statement::bind(double value) {
  note_bind(sqlite3_bind_double(raw_.get(), next_parameter_, value));
  return *this;
}

Statement& Statement::bind(std::string_view text) {
  // A null pointer would bind NULL instead of an empty text.
  const char* data = text.data() != nullptr ? text.data() : "";
  note_bind(sqlite3_bind_text64(raw_.get(), next_parameter_, data, text.size(), SQLITE_STATIC,
                                SQLITE_UTF8));
  return *this;
}

Statement& Statement::bind(Blob blob) {
  // A null pointer would bind NULL instead of an empty blob.
  const char* data = blob.bytes.data() != nullptr ? blob.bytes.data() : "";
  note_bind(
      sqlite3_bind_blob64(raw_.get(), next_parameter_, data, blob.bytes.size(), SQLITE_STATIC));
  return *this;
}

Statement& Statement::bind_null() {
  note_bind(sqlite3_bind_null(raw_.get(), next_parameter_));
  return *this;
}

Statement& Statement::bind(const std::optional<std::int64_t>& value) {
  return value ? bind(*value) : bind_null();
}

void Statement::note_bind(int code) {
  ++next_parameter_;
  if (bind_code_ == SQLITE_OK) {
    bind_code_ = code;
  }
}

Result<bool> Statement::step() {
  if (bind_code_ != SQLITE_OK) {
    return failure_from(raw_.get(), bind_code_);
  }
  misfit_ = false;
  errno = 0;
  const int code = sqlite3_step(raw_.get());
  if (code == SQLITE_ROW || code == SQLITE_DONE) {
    return code == SQLITE_ROW;
  }
  return failure_from(raw_.get(), code);
}

Result<void> Statement::run() {
  const Result<bool> stepped = step();
  return stepped ? Result<void>{} : Failure{stepped.error()};
}

void Statement::reset() {
  // Repeats the error of the last step, which was reported then.
  sqlite3_reset(raw_.get());
  sqlite3_clear_bindings(raw_.get());
  next_parameter_ = 1;
  bind_code_ = SQLITE_OK;
  misfit_ = false;
}

std::int64_t Statement::integer(int column) const {
  return sqlite3_column_int64(raw_.get(), column);
}

double Statement::real(int column) const { return sqlite3_column_double(raw_.get(), column); }

std::string Statement::text(int column) const {
  const unsigned char* bytes = sqlite3_column_text(raw_.get(), column);
  const int size = sqlite3_column_bytes(raw_.get(), column);
  return bytes == nullptr
             ? std::string{}
             : std::string{reinterpret_cast<const char*>(bytes), static_cast<std::size_t>(size)};
}

std::string Statement::blob(int column) const {
  const void* bytes = sqlite3_column_blob(raw_.get(), column);
  const int size = sqlite3_column_bytes(raw_.get(), column);
  return bytes == nullptr
             ? std::string{}
             : std::string{static_cast<const char*>(bytes), static_cast<std::size_t>(size)};
}

bool Statement::is_null(int column) const {
  return sqlite3_column_type(raw_.get(), column) == SQLITE_NULL;
}

std::optional<std::int64_t> Statement::integer_if(int column) const {
  return is_null(column) ? std::nullopt : std::optional{integer(column)};
}

Failure Statement::misfit_failure() const {
  const char* path = sqlite3_db_filename(sqlite3_db_handle(raw_.get()), "main");
  return failure(ErrorCode::corrupt, std::string("store ") + (path != nullptr ? path : "") +
                                         ": a row holds a number out of its range, read by: " +
                                         sqlite3_sql(raw_.get()));
}

Result<Connection> Connection::open(const std::string& path, int flags,
                                    std::chrono::milliseconds busy_timeout) {
  sqlite3* raw = nullptr;
  errno = 0;
  const int code = sqlite3_open_v2(path.c_str(), &raw, flags, nullptr);
  Connection connection{raw, path};  // SQLite wants a close after a failed open too
  if (code != SQLITE_OK) {
    if (raw != nullptr && sqlite3_system_errno(raw) == ENOENT) {
      return failure(ErrorCode::not_found, "store " + path + ": there is no such file", ENOENT);
    }
    return failure_from(raw, path, code);
  }
  sqlite3_extended_result_codes(raw, 0);
  sqlite3_busy_timeout(raw, static_cast<int>(busy_timeout.count()));
  return connection;
}

Result<void> Connection::execute(const char* sql) {
  errno = 0;
  const int code = sqlite3_exec(raw_.get(), sql, nullptr, nullptr, nullptr);
  if (code != SQLITE_OK) {
    return failure_from(raw_.get(), path_, code);
  }
  return {};
}

Result<void> Connection::begin_reading() {
  if (in_transaction()) {
    return failure(ErrorCode::unavailable,
                   "store " + path_ + ": it is held at another moment already");
  }
  return execute("BEGIN");
}

void Connection::end_reading() {
  if (in_transaction()) {
    // Nothing was written, so there is nothing that its end could lose.
    static_cast<void>(execute("COMMIT"));
  }
}

Result<Statement> Connection::prepare(std::string_view sql) {
  sqlite3_stmt* raw = nullptr;
  errno = 0;
  const int code = sqlite3_prepare_v3(raw_.get(), sql.data(), static_cast<int>(sql.size()),
                                      SQLITE_PREPARE_PERSISTENT, &raw, nullptr);
  if (code != SQLITE_OK) {
    return failure_from(raw_.get(), path_, code);
  }
  return Statement{raw};
}

Result<Statement*> Connection::kept(std::string_view sql) {
  auto found = kept_.find(sql);
  if (found == kept_.end()) {
    Result<Statement> prepared = prepare(sql);
    if (!prepared) {
      return Failure{prepared.error()};
    }
    found = kept_.emplace(std::string{sql}, std::move(prepared).value()).first;
  }
  return &found->second;
}

Result<std::optional<std::int64_t>> Connection::integer(std::string_view sql) {
  Result<Statement> prepared = prepare(sql);
  if (!prepared) {
    return Failure{prepared.error()};
  }
  const Result<bool> row = prepared.value().step();
  if (!row) {
    return Failure{row.error()};
  }
  return row.value() ? prepared.value().integer_if(0) : std::nullopt;
}

Result<std::string> Connection::text(std::string_view sql) {
  Result<Statement> prepared = prepare(sql);
  if (!prepared) {
    return Failure{prepared.error()};
  }
  const Result<bool> row = prepared.value().step();
  if (!row) {
    return Failure{row.error()};
  }
  return row.value() ? prepared.value().text(0) : std::string{};
}

Result<void> Connection::copy_into(Connection& target) {
  constexpr int kAllPages = -1;
  errno = 0;
  sqlite3_backup* backup = sqlite3_backup_init(target.raw(), "main", raw(), "main");
  if (backup == nullptr) {
    return failure_from(target.raw(), target.path(), sqlite3_errcode(target.raw()));
  }
  const int stepped = sqlite3_backup_step(backup, kAllPages);
  const int finished = sqlite3_backup_finish(backup);
  if (finished != SQLITE_OK) {
    return failure_from(target.raw(), target.path(), finished);
  }
  if (stepped != SQLITE_DONE) {  // busy: finish says nothing of it
    return failure_from(nullptr, path_, stepped);
  }
  return {};
}

}  // namespace logger::store
