#include "logger/store/schema.hpp"

#include <string>

#include "logger/store/log/log_takeover.hpp"

namespace logger::store {
namespace {

// Units are in the column names; *_utc_us are microseconds since 1970-01-01T00:00:00Z, ticks_ms the
// box's own clock since its boot. Append-only tables refuse UPDATE and DELETE by triggers. REPLACE
// fires them only under PRAGMA recursive_triggers; a check at each insert would cost a third of the
// ingest rate (docs/adr/0002-sqlite-store.md).
constexpr const char* kVersion1 = R"sql(
CREATE TABLE store_state (
  one INTEGER PRIMARY KEY CHECK (one = 1),
  simulated INTEGER CHECK (simulated IN (0, 1)),  -- NULL: not marked yet
  last_seen_utc_us INTEGER,
  session_open INTEGER NOT NULL CHECK (session_open IN (0, 1))
) STRICT;
INSERT INTO store_state (one, session_open) VALUES (1, 0);

CREATE TABLE boxes (
  box INTEGER PRIMARY KEY,
  box_id TEXT NOT NULL UNIQUE
) STRICT;

-- raw_counts_n is NULL where channel n is not fitted; statuses has 4 bits a channel, 0 lowest.
CREATE TABLE records (
  box INTEGER NOT NULL REFERENCES boxes (box),
  boot INTEGER NOT NULL,
  sequence INTEGER NOT NULL,
  ticks_ms INTEGER NOT NULL,
  flags INTEGER NOT NULL,
  statuses INTEGER NOT NULL,
  raw_counts_0 INTEGER,
  raw_counts_1 INTEGER,
  raw_counts_2 INTEGER,
  raw_counts_3 INTEGER,
  raw_counts_4 INTEGER,
  raw_counts_5 INTEGER,
  raw_counts_6 INTEGER,
  raw_counts_7 INTEGER,
  PRIMARY KEY (box, boot, sequence)
) STRICT, WITHOUT ROWID;

CREATE TABLE exchanges (
  box INTEGER NOT NULL REFERENCES boxes (box),
  boot INTEGER NOT NULL,
  ticks_ms INTEGER NOT NULL,
  host_utc_us INTEGER NOT NULL,
  error_us INTEGER NOT NULL,
  PRIMARY KEY (box, boot, ticks_ms)
) STRICT, WITHOUT ROWID;

CREATE TABLE gaps (
  box INTEGER NOT NULL REFERENCES boxes (box),
  boot INTEGER NOT NULL,
  first_sequence INTEGER NOT NULL,
  last_sequence INTEGER NOT NULL,
  reason INTEGER NOT NULL,  -- 1 overflow, 2 corrupt, 3 missing
  noted_utc_us INTEGER NOT NULL,
  PRIMARY KEY (box, boot, first_sequence, last_sequence)
) STRICT, WITHOUT ROWID;

CREATE TABLE events (
  id INTEGER PRIMARY KEY,
  at_utc_us INTEGER NOT NULL,
  kind TEXT NOT NULL,
  subject TEXT NOT NULL,
  detail_json TEXT NOT NULL
) STRICT;

CREATE TABLE notes (
  id INTEGER PRIMARY KEY,
  at_utc_us INTEGER NOT NULL,
  noted_utc_us INTEGER NOT NULL,
  kind TEXT NOT NULL,
  room_id TEXT NOT NULL,
  noted_by TEXT NOT NULL,
  content_json TEXT NOT NULL
) STRICT;

-- value = gain * nominal + offset, in the channel's file unit (celsius, percent_rh, volt).
CREATE TABLE calibrations (
  id INTEGER PRIMARY KEY,
  box INTEGER NOT NULL REFERENCES boxes (box),
  channel_index INTEGER NOT NULL,
  valid_from_utc_us INTEGER NOT NULL,
  due_utc_us INTEGER NOT NULL,
  gain REAL NOT NULL,
  offset_file_unit REAL NOT NULL,
  expanded_uncertainty_file_unit REAL NOT NULL,
  calibrated_by TEXT NOT NULL,
  reference TEXT NOT NULL,
  noted_utc_us INTEGER NOT NULL
) STRICT;

CREATE TABLE accounts (
  room_id TEXT NOT NULL PRIMARY KEY,
  fingerprint TEXT NOT NULL,
  state_json TEXT NOT NULL
) STRICT;

CREATE TABLE alert_states (
  alert_key TEXT NOT NULL PRIMARY KEY,
  state_json TEXT NOT NULL
) STRICT;

CREATE TABLE messages (
  id INTEGER PRIMARY KEY,
  at_utc_us INTEGER NOT NULL,
  alert_key TEXT NOT NULL,
  transition TEXT NOT NULL,
  payload_json TEXT NOT NULL,
  delivered_utc_us INTEGER,     -- NULL: to be delivered
  next_attempt_utc_us INTEGER,  -- NULL: at once
  attempts INTEGER NOT NULL,
  last_error TEXT NOT NULL
) STRICT;
CREATE INDEX messages_undelivered ON messages (id) WHERE delivered_utc_us IS NULL;

CREATE TRIGGER records_no_update BEFORE UPDATE ON records
  BEGIN SELECT RAISE(ABORT, 'records are append only'); END;
CREATE TRIGGER records_no_delete BEFORE DELETE ON records
  BEGIN SELECT RAISE(ABORT, 'records are append only'); END;
CREATE TRIGGER exchanges_no_update BEFORE UPDATE ON exchanges
  BEGIN SELECT RAISE(ABORT, 'exchanges are append only'); END;
CREATE TRIGGER exchanges_no_delete BEFORE DELETE ON exchanges
  BEGIN SELECT RAISE(ABORT, 'exchanges are append only'); END;
CREATE TRIGGER gaps_no_update BEFORE UPDATE ON gaps
  BEGIN SELECT RAISE(ABORT, 'gaps are append only'); END;
CREATE TRIGGER gaps_no_delete BEFORE DELETE ON gaps
  BEGIN SELECT RAISE(ABORT, 'gaps are append only'); END;
CREATE TRIGGER events_no_update BEFORE UPDATE ON events
  BEGIN SELECT RAISE(ABORT, 'events are append only'); END;
CREATE TRIGGER events_no_delete BEFORE DELETE ON events
  BEGIN SELECT RAISE(ABORT, 'events are append only'); END;
CREATE TRIGGER notes_no_update BEFORE UPDATE ON notes
  BEGIN SELECT RAISE(ABORT, 'notes are append only'); END;
CREATE TRIGGER notes_no_delete BEFORE DELETE ON notes
  BEGIN SELECT RAISE(ABORT, 'notes are append only'); END;
CREATE TRIGGER calibrations_no_update BEFORE UPDATE ON calibrations
  BEGIN SELECT RAISE(ABORT, 'calibrations are append only'); END;
CREATE TRIGGER calibrations_no_delete BEFORE DELETE ON calibrations
  BEGIN SELECT RAISE(ABORT, 'calibrations are append only'); END;
CREATE TRIGGER boxes_no_update BEFORE UPDATE ON boxes
  BEGIN SELECT RAISE(ABORT, 'boxes are append only'); END;
CREATE TRIGGER boxes_no_delete BEFORE DELETE ON boxes
  BEGIN SELECT RAISE(ABORT, 'boxes are append only'); END;
CREATE TRIGGER store_state_keeps_mark BEFORE UPDATE OF simulated ON store_state
  WHEN OLD.simulated IS NOT NULL AND NEW.simulated IS NOT OLD.simulated
  BEGIN SELECT RAISE(ABORT, 'the simulated mark never changes'); END;
CREATE TRIGGER store_state_no_delete BEFORE DELETE ON store_state
  BEGIN SELECT RAISE(ABORT, 'the store state is never deleted'); END;
)sql";

// The evidence log (docs/evidence-log.md). Leaf first + i, i < count, is the row of `kind` with
// number + i; tags holds 8 bytes of each leaf's hash. Nodes are of the levels 8, 16, 24 ...
constexpr const char* kVersion2 = R"sql(
CREATE TABLE log_runs (
  first INTEGER PRIMARY KEY,
  count INTEGER NOT NULL,
  kind INTEGER NOT NULL,         -- first byte of the leaf
  box INTEGER NOT NULL,          -- 0 where the kind has none, as boot and last_number
  boot INTEGER NOT NULL,
  number INTEGER NOT NULL,       -- sequence, ticks_ms, first_sequence or id of the first row
  last_number INTEGER NOT NULL,  -- last_sequence of a gap
  tags BLOB NOT NULL
) STRICT;
CREATE INDEX log_runs_by_row ON log_runs (kind, box, boot, number, last_number, count);

CREATE TABLE log_nodes (
  level INTEGER NOT NULL,
  position INTEGER NOT NULL,
  hash BLOB NOT NULL,
  PRIMARY KEY (level, position)
) STRICT, WITHOUT ROWID;

CREATE TABLE log_frontier (
  one INTEGER PRIMARY KEY CHECK (one = 1),
  size INTEGER NOT NULL,
  peaks BLOB NOT NULL  -- roots of the complete subtrees, largest first, 32 bytes each
) STRICT;
INSERT INTO log_frontier (one, size, peaks) VALUES (1, 0, x'');

CREATE TRIGGER log_runs_no_update BEFORE UPDATE ON log_runs
  BEGIN SELECT RAISE(ABORT, 'log_runs are append only'); END;
CREATE TRIGGER log_runs_no_delete BEFORE DELETE ON log_runs
  BEGIN SELECT RAISE(ABORT, 'log_runs are append only'); END;
CREATE TRIGGER log_nodes_no_update BEFORE UPDATE ON log_nodes
  BEGIN SELECT RAISE(ABORT, 'log_nodes are append only'); END;
CREATE TRIGGER log_nodes_no_delete BEFORE DELETE ON log_nodes
  BEGIN SELECT RAISE(ABORT, 'log_nodes are append only'); END;
CREATE TRIGGER log_frontier_no_delete BEFORE DELETE ON log_frontier
  BEGIN SELECT RAISE(ABORT, 'the frontier of the log is never deleted'); END;
)sql";

// Of new rows: what their leaf is salted with. Rows from before have none, as their leaves.
constexpr const char* kVersion3 = R"sql(
ALTER TABLE notes ADD COLUMN salt BLOB;
ALTER TABLE calibrations ADD COLUMN salt BLOB;
ALTER TABLE messages ADD COLUMN salt BLOB;
)sql";

// What is to be told to whom, and how far it is. What was not delivered yet goes to the one
// recipient there was. The columns of messages that said so before are written no more.
constexpr const char* kVersion4 = R"sql(
CREATE TABLE deliveries (
  id INTEGER PRIMARY KEY,
  recipient TEXT NOT NULL,
  kind TEXT NOT NULL,
  alert_key TEXT NOT NULL,
  at_utc_us INTEGER NOT NULL,
  number INTEGER NOT NULL,
  due_utc_us INTEGER NOT NULL,
  held INTEGER NOT NULL CHECK (held IN (0, 1)),
  payload_json TEXT NOT NULL,
  attempts INTEGER NOT NULL,
  next_attempt_utc_us INTEGER,  -- NULL: when it is due
  delivered_utc_us INTEGER,     -- NULL: to be delivered
  refused INTEGER NOT NULL CHECK (refused IN (0, 1)),
  last_error TEXT NOT NULL,
  UNIQUE (recipient, kind, alert_key, at_utc_us, number)
) STRICT;
CREATE INDEX deliveries_waiting ON deliveries (id) WHERE delivered_utc_us IS NULL;
CREATE INDEX deliveries_by_kind ON deliveries (kind, at_utc_us);
INSERT INTO deliveries (recipient, kind, alert_key, at_utc_us, number, due_utc_us, held,
                        payload_json, attempts, next_attempt_utc_us, refused, last_error)
  SELECT 'command', transition, alert_key, at_utc_us, 0, at_utc_us, 0, payload_json, attempts,
         next_attempt_utc_us, 0, last_error
  FROM messages WHERE delivered_utc_us IS NULL ORDER BY id
  ON CONFLICT DO NOTHING;
DROP INDEX messages_undelivered;
)sql";

// Rows of version 1 are taken over at the end: that reads the tables as they are now.
constexpr Migration kMigrations[] = {
    {1, kVersion1}, {2, kVersion2}, {3, kVersion3, take_over_rows}, {4, kVersion4}};

Result<void> apply(Connection& connection, std::span<const Migration> migrations) {
  const Result<int> version = schema_version(connection);
  if (!version) {
    return Failure{version.error()};
  }
  const int newest = migrations.back().to_version;
  if (version.value() > newest) {
    return failure(ErrorCode::unsupported,
                   "store " + connection.path() + ": it has schema version " +
                       std::to_string(version.value()) + ", this program knows up to " +
                       std::to_string(newest) + "; use the newer program that wrote it");
  }
  for (const Migration& migration : migrations) {
    if (migration.to_version <= version.value()) {
      continue;
    }
    Result<void> done = connection.execute(migration.sql);
    if (done && migration.fill != nullptr) {
      done = migration.fill(connection);
    }
    if (!done) {
      return done;
    }
  }
  const std::string mark = "PRAGMA application_id = " + std::to_string(kApplicationId) +
                           "; PRAGMA user_version = " + std::to_string(newest);
  return connection.execute(mark.c_str());
}

}  // namespace

std::span<const Migration> schema_migrations() { return kMigrations; }

Result<int> schema_version(Connection& connection) {
  const auto application = connection.integer("PRAGMA application_id");
  const auto tables = connection.integer("SELECT count(*) FROM sqlite_schema");
  const auto version = connection.integer("PRAGMA user_version");
  for (const auto* read : {&application, &tables, &version}) {
    if (!*read) {
      return Failure{read->error()};
    }
  }
  const std::int64_t owner = application.value().value_or(0);
  const bool empty = owner == 0 && tables.value().value_or(0) == 0;
  if (owner != kApplicationId && !empty) {
    return failure(ErrorCode::unsupported,
                   "store " + connection.path() +
                       ": this database belongs to another program (application id " +
                       std::to_string(owner) + ", expected " + std::to_string(kApplicationId) +
                       "); it is left untouched");
  }
  return static_cast<int>(version.value().value_or(0));
}

Result<void> migrate(Connection& connection, std::span<const Migration> migrations) {
  const Result<int> version = schema_version(connection);
  if (version && version.value() == migrations.back().to_version) {
    return {};  // nothing to write, so no wait for another writer
  }
  // Immediate: of two programs that open a new file at once, the second finds it migrated.
  if (Result<void> begun = connection.execute("BEGIN IMMEDIATE"); !begun) {
    return begun;
  }
  Result<void> done = apply(connection, migrations);
  if (done) {
    done = connection.execute("COMMIT");
  }
  if (!done && connection.in_transaction()) {
    // A failed rollback changes nothing: the file forgets the transaction when it is closed.
    static_cast<void>(connection.execute("ROLLBACK"));
  }
  return done;
}

}  // namespace logger::store
