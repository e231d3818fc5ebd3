#include "logger/store/schema.hpp"

#include "logger/store/store_check.hpp"
#include "tests/store/store_folder.hpp"

using namespace store_tests;

namespace {

// What a first version of a program with our application id may have left: no table, version 0.
void make_version_0(const std::string& path) {
  PlainSqlite plain{path};
  REQUIRE(plain.execute("PRAGMA application_id = " + std::to_string(kApplicationId)) == SQLITE_OK);
  REQUIRE(plain.text("PRAGMA user_version") == "0");
}

Connection open_plainly(const std::string& path) {
  return must(Connection::open(path, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE,
                               std::chrono::milliseconds{0}));
}

// One row in every table, so that each trigger has something to refuse.
void fill_every_table(ReadingStore& store) {
  CommitBatch batch = batch_of("box-a", samples(1, 1));
  batch.boxes[0].exchanges.emplace_back(1, ClockExchange{1, kStart, Micros{1}});
  batch.gaps.push_back({"box-a", 1, 2, 3, GapReason::missing, kStart});
  batch.events.push_back({0, kStart, "boot", "box-a", "{}"});
  must(store.commit(batch));
  must(store.append_note({0, kStart, kStart, "remark", "", "someone", "{}"}));
  must(store.append_calibration({0, "box-a", 0, kStart, kStart, 1.0, 0.0, 0.1, "", "", kStart}));
}

}  // namespace

TEST_CASE("SettingsAreThoseOfTheDecisionRecord") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  PlainSqlite plain{folder.file()};
  CHECK(plain.text("PRAGMA journal_mode") == "wal");
  CHECK(plain.text("PRAGMA application_id") == std::to_string(kApplicationId));
  CHECK(plain.text("PRAGMA user_version") == std::to_string(schema_migrations().back().to_version));
  CHECK(plain.text("SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE "
                   "'sqlite_%' AND sql NOT LIKE '%STRICT%'") == "0");
}

TEST_CASE("WrittenRowsCannotBeChangedOrDeleted") {
  const StoreFolder folder;
  fill_every_table(*open_marked(folder.file()));
  PlainSqlite plain{folder.file()};
  const std::pair<const char*, const char*> columns[] = {
      {"records", "raw_counts_0"}, {"exchanges", "host_utc_us"}, {"gaps", "reason"},
      {"events", "at_utc_us"},     {"notes", "at_utc_us"},       {"calibrations", "gain"},
      {"boxes", "box_id"}};
  for (const auto& [table, column] : columns) {
    INFO(table);
    const std::string name{table};
    REQUIRE(plain.text("SELECT count(*) FROM " + name) == "1");
    CHECK(plain.execute("UPDATE " + name + " SET " + column + " = 7") == SQLITE_CONSTRAINT);
    CHECK(plain.message() == name + " are append only");
    CHECK(plain.execute("DELETE FROM " + name) == SQLITE_CONSTRAINT);
    CHECK(plain.text("SELECT count(*) FROM " + name) == "1");
  }
}

TEST_CASE("AVersion0FileIsBroughtUpToDate") {
  const StoreFolder folder;
  make_version_0(folder.file());
  CHECK(code_of(open_sqlite_store(folder.file(), {.read_only = true})) == ErrorCode::unsupported);
  const auto store = open_marked(folder.file());
  must(store->commit(batch_of("box-a", samples(1, 3))));
  CHECK(all_records(*store, "box-a") == samples(1, 3));
  must(full_check(folder.file()));
}

TEST_CASE("MigrationsRunInOrderAndKeepTheData") {
  const StoreFolder folder;
  Connection connection = open_plainly(folder.file());
  const Migration first[] = {{1, "CREATE TABLE t (a INTEGER) STRICT; INSERT INTO t VALUES (5)"}};
  must(migrate(connection, first));
  const Migration all[] = {first[0],
                           {2, "ALTER TABLE t ADD COLUMN b INTEGER; UPDATE t SET b = a + 1"},
                           {3, "ALTER TABLE t RENAME COLUMN b TO c"}};
  must(migrate(connection, all));
  CHECK(must(connection.integer("SELECT c FROM t")) == 6);
  CHECK(must(schema_version(connection)) == 3);
  must(migrate(connection, all));
  CHECK(must(connection.integer("SELECT count(*) FROM t")) == 1);
}

// A store of the version before deliveries knew one recipient, the command.
TEST_CASE("MessagesThatWaitedInAnOlderStoreAreDeliveredAfterTheMigration") {
  const StoreFolder folder;
  {
    Connection connection = open_plainly(folder.file());
    const auto all = schema_migrations();
    must(migrate(connection, all.first(3)));
    must(connection.execute(
        "INSERT INTO messages VALUES (1, 7, 'a/x', 'fired', '{\"n\":1}', 9, NULL, 1, '', NULL), "
        "(2, 8, 'a/x', 'cleared', '{\"n\":2}', NULL, 30, 4, 'exit status 1', NULL), "
        "(3, 8, 'b/x', 'fired', '{\"n\":3}', NULL, NULL, 0, '', NULL)"));
  }
  const auto store = open_marked(folder.file());
  const auto waiting = must(store->waiting_deliveries());
  REQUIRE(waiting.size() == 2);
  Delivery second;
  second.id = 1;
  second.recipient = "command";
  second.kind = "cleared";
  second.alert_key = "a/x";
  second.at = second.due_at = UtcMicros{8};
  second.payload_json = "{\"n\":2}";
  second.attempts = 4;
  second.next_attempt_at = UtcMicros{30};
  second.last_error = "exit status 1";
  CHECK(waiting[0] == second);
  CHECK(waiting[1].kind == "fired");
  CHECK(waiting[1].alert_key == "b/x");
  CHECK_FALSE(waiting[1].next_attempt_at);
  CHECK(must(store->recent_messages(9)).size() == 3);
  must(full_check(folder.file()));
}

TEST_CASE("AMigrationThatFailsChangesNothing") {
  const StoreFolder folder;
  Connection connection = open_plainly(folder.file());
  const Migration first[] = {{1, "CREATE TABLE t (a INTEGER) STRICT"}};
  must(migrate(connection, first));
  const Migration broken[] = {first[0],
                              {2, "ALTER TABLE t ADD COLUMN b INTEGER"},
                              {3, "INSERT INTO no_such_table VALUES (1)"}};
  CHECK_FALSE(migrate(connection, broken).has_value());
  CHECK(must(schema_version(connection)) == 1);
  CHECK(must(connection.integer("SELECT count(*) FROM pragma_table_info('t')")) == 1);
}

TEST_CASE("ANewerSchemaIsRefusedByItsNumber") {
  const StoreFolder folder;
  { open_marked(folder.file()); }
  { REQUIRE(PlainSqlite{folder.file()}.execute("PRAGMA user_version = 4711") == SQLITE_OK); }
  for (const bool read_only : {false, true}) {
    const auto refused = open_sqlite_store(folder.file(), {.read_only = read_only});
    CHECK(code_of(refused) == ErrorCode::unsupported);
    CHECK(refused.error().context.find("4711") != std::string::npos);
  }
}

TEST_CASE("AnotherProgramsDatabaseIsLeftUntouched") {
  const StoreFolder folder;
  {
    PlainSqlite plain{folder.file()};
    REQUIRE(plain.execute("CREATE TABLE theirs (a); INSERT INTO theirs VALUES (1)") == SQLITE_OK);
  }
  const std::string before = read_file(folder.file());
  CHECK(code_of(open_sqlite_store(folder.file(), {.create = true})) == ErrorCode::unsupported);
  CHECK(code_of(open_sqlite_store(folder.file(), {.read_only = true})) == ErrorCode::unsupported);
  CHECK(read_file(folder.file()) == before);
}
