#include "logger/store/store_file.hpp"

#include "logger/store/schema.hpp"

namespace logger::store {
namespace {

constexpr std::int64_t kPageBytes = 1024;

// The page cache bounds the memory of a connection; more buys nothing at 8 boxes. The checkpoint
// interval and the size the log is cut back to after a long reader: measured in the ADR.
constexpr const char* kEveryConnection =
    "PRAGMA cache_size = -1024;"
    "PRAGMA mmap_size = 0;"
    "PRAGMA temp_store = MEMORY;"
    "PRAGMA trusted_schema = OFF;"
    "PRAGMA foreign_keys = ON;";
constexpr const char* kWriters =
    "PRAGMA synchronous = FULL;"
    "PRAGMA wal_autocheckpoint = 4000;"
    "PRAGMA journal_size_limit = 8388608;";

int open_flags(const OpenOptions& options) {
  // One thread uses a connection, so SQLite need not lock it.
  constexpr int kAlways = SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_PRIVATECACHE;
  if (options.read_only) {
    return kAlways | SQLITE_OPEN_READONLY;
  }
  return kAlways | SQLITE_OPEN_READWRITE | (options.create ? SQLITE_OPEN_CREATE : 0);
}

Result<void> use_write_ahead_log(Connection& connection) {
  const std::string page_size = "PRAGMA page_size = " + std::to_string(kPageBytes);
  if (Result<void> set = connection.execute(page_size.c_str()); !set) {
    return set;
  }
  const Result<std::string> mode = connection.text("PRAGMA journal_mode = WAL");
  if (!mode) {
    return Failure{mode.error()};
  }
  if (mode.value() != "wal") {
    return failure(ErrorCode::unsupported, "store " + connection.path() +
                                               ": this file system cannot hold a write-ahead "
                                               "log (journal mode stays " +
                                               mode.value() + "); use a local disk");
  }
  return {};
}

Result<void> prepare_writer(Connection& connection, const OpenOptions& options) {
  // Before anything is written: a file that is not ours stays as it is.
  const Result<int> version = schema_version(connection);
  if (!version) {
    return Failure{version.error()};
  }
  if (version.value() == 0 && !options.create) {
    return failure(ErrorCode::unsupported,
                   "store " + connection.path() + ": the file is empty, not a store");
  }
  if (Result<void> set = connection.execute(kWriters); !set) {
    return set;
  }
  if (options.max_size_bytes > 0) {
    const std::string limit =
        "PRAGMA max_page_count = " + std::to_string(options.max_size_bytes / kPageBytes);
    if (Result<void> set = connection.execute(limit.c_str()); !set) {
      return set;
    }
  }
  if (Result<void> wal = use_write_ahead_log(connection); !wal) {
    return wal;
  }
  return migrate(connection, schema_migrations());
}

Result<void> prepare_reader(Connection& connection) {
  const Result<int> version = schema_version(connection);
  if (!version) {
    return Failure{version.error()};
  }
  const int current = schema_migrations().back().to_version;
  if (version.value() != current) {
    return failure(
        ErrorCode::unsupported,
        "store " + connection.path() + ": it has schema version " +
            std::to_string(version.value()) + ", this program reads " + std::to_string(current) +
            (version.value() < current ? "; open it once for writing to bring it up to date"
                                       : "; use the newer program that wrote it"));
  }
  return {};
}

}  // namespace

Result<Connection> open_store_file(const std::string& path, const OpenOptions& options) {
  Result<Connection> opened = Connection::open(path, open_flags(options), options.busy_timeout);
  if (!opened) {
    return opened;
  }
  Connection connection = std::move(opened).value();
  if (Result<void> set = connection.execute(kEveryConnection); !set) {
    return Failure{set.error()};
  }
  Result<void> ready =
      options.read_only ? prepare_reader(connection) : prepare_writer(connection, options);
  if (!ready) {
    return Failure{ready.error()};
  }
  return connection;
}

}  // namespace logger::store
