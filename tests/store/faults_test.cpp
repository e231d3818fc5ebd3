#include <sys/resource.h>

#include <cerrno>
#include <csignal>

#include "tests/store/store_folder.hpp"

using namespace store_tests;

namespace {

// A batch that touches every table, so that a part of it would be seen.
CommitBatch whole_batch(std::int64_t first, std::int64_t last) {
  CommitBatch batch = batch_of("box-a", samples(first, last));
  batch.boxes.push_back({.box_id = "box-" + std::to_string(first), .records = samples(1, 1)});
  batch.boxes[0].exchanges.emplace_back(1, ClockExchange{first, kStart, Micros{1}});
  batch.gaps.push_back({"box-a", 9, first, last, GapReason::missing, kStart});
  batch.events.push_back({0, kStart, "boot", "box-a", "{}"});
  batch.accounts.push_back({"room-" + std::to_string(first), "rules", std::string(2000, 'x')});
  batch.alert_states.push_back({"key-" + std::to_string(first), "{}"});
  batch.messages.push_back({0, kStart, "key", "fired", "{}", {}, {}, 0, ""});
  batch.seen_at = kStart + Micros{first};
  return batch;
}

std::string counts_of(const std::string& path) {
  PlainSqlite plain{path};
  return plain.text(
      "SELECT (SELECT count(*) FROM boxes) || ' ' || (SELECT count(*) FROM records) || ' ' || "
      "(SELECT count(*) FROM exchanges) || ' ' || (SELECT count(*) FROM gaps) || ' ' || "
      "(SELECT count(*) FROM events) || ' ' || (SELECT count(*) FROM accounts) || ' ' || "
      "(SELECT count(*) FROM alert_states) || ' ' || (SELECT count(*) FROM messages) || ' ' || "
      "(SELECT last_seen_utc_us FROM store_state)");
}

}  // namespace

TEST_CASE("NoSpaceLeavesNothingOfTheBatch") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file(), {.create = true, .max_size_bytes = 400'000});
  std::int64_t first = 1;
  std::string before;
  ErrorCode code = ErrorCode::io;
  std::string context;
  for (; first < 100'000; first += 500) {
    before = first == 1 ? "" : counts_of(folder.file());
    const auto done = store->commit(whole_batch(first, first + 499));
    if (!done) {
      code = done.error().code;
      context = done.error().context;
      break;
    }
  }
  REQUIRE(code == ErrorCode::no_space);
  CHECK(context.find("nothing of it was written") != std::string::npos);
  CHECK(counts_of(folder.file()) == before);
  CHECK(must(store->last_record("box-a")) == sample(first - 1));
  // The box whose key was given in the failed transaction is not remembered by mistake.
  CHECK(all_records(*store, "box-" + std::to_string(first)).empty());
  // Still no space, again and again; reading goes on; and a store without the limit takes it.
  CHECK(code_of(store->commit(whole_batch(first, first + 499))) == ErrorCode::no_space);
  const auto roomy = must(open_sqlite_store(folder.file(), {}));
  CHECK(must(roomy->commit(whole_batch(first, first + 499))).inserted == 501);
}

TEST_CASE("AWriteErrorIsIoWithItsErrnoAndLeavesNothing") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  must(store->commit(whole_batch(1, 10)));
  const std::string before = counts_of(folder.file());
  rlimit old{};
  REQUIRE(getrlimit(RLIMIT_FSIZE, &old) == 0);
  const auto old_handler = std::signal(SIGXFSZ, SIG_IGN);
  const rlimit small{std::filesystem::file_size(folder.file() + "-wal"), old.rlim_max};
  REQUIRE(setrlimit(RLIMIT_FSIZE, &small) == 0);
  const auto refused = store->commit(whole_batch(11, 2000));
  REQUIRE(setrlimit(RLIMIT_FSIZE, &old) == 0);
  std::signal(SIGXFSZ, old_handler);
  INFO(refused.error().context);
  CHECK(code_of(refused) == ErrorCode::io);
  CHECK(refused.error().os_errno == EFBIG);
  CHECK(counts_of(folder.file()) == before);
  CHECK(must(store->commit(whole_batch(11, 2000))).inserted == 1991);
}

TEST_CASE("ALockedStoreTimesOutAndWorksAfterwards") {
  const StoreFolder folder;
  const auto store =
      open_marked(folder.file(), {.create = true, .busy_timeout = std::chrono::milliseconds{1}});
  PlainSqlite other{folder.file()};
  REQUIRE(other.execute("BEGIN IMMEDIATE") == SQLITE_OK);
  CHECK(code_of(store->commit(whole_batch(1, 2))) == ErrorCode::timeout);
  CHECK(code_of(store->append_note({})) == ErrorCode::timeout);
  CHECK(code_of(store->begin_session()) == ErrorCode::timeout);
  CHECK(must(store->boots("box-a")).empty());  // reading never waits
  REQUIRE(other.execute("ROLLBACK") == SQLITE_OK);
  CHECK(must(store->commit(whole_batch(1, 2))).inserted == 3);
}

TEST_CASE("AReaderReadsWhileAWriterWrites") {
  const StoreFolder folder;
  const auto writer = open_marked(folder.file());
  must(writer->commit(batch_of("box-a", samples(1, 5))));
  PlainSqlite busy{folder.file()};
  REQUIRE(busy.execute("BEGIN IMMEDIATE; INSERT INTO events (at_utc_us, kind, subject, "
                       "detail_json) VALUES (1, 'x', '', '{}')") == SQLITE_OK);
  const auto reader = must(open_sqlite_store(folder.file(), {.read_only = true}));
  CHECK(all_records(*reader, "box-a") == samples(1, 5));
  CHECK(must(reader->events(0)).empty());
  REQUIRE(busy.execute("COMMIT") == SQLITE_OK);
  CHECK(must(reader->events(0)).size() == 1);
}

TEST_CASE("AReadOnlyStoreRefusesToWrite") {
  const StoreFolder folder;
  { open_marked(folder.file()); }
  const auto reader = must(open_sqlite_store(folder.file(), {.read_only = true}));
  CHECK(code_of(reader->commit(whole_batch(1, 2))) == ErrorCode::unavailable);
  CHECK(code_of(reader->append_note({})) == ErrorCode::unavailable);
  CHECK(code_of(reader->append_calibration({})) == ErrorCode::unavailable);
  CHECK(code_of(reader->mark_simulated(true)) == ErrorCode::unavailable);
  CHECK(code_of(reader->begin_session()) == ErrorCode::unavailable);
  CHECK(must(reader->boots("box-a")).empty());
}

TEST_CASE("AMissingStoreIsNotFound") {
  const StoreFolder folder;
  CHECK(code_of(open_sqlite_store(folder.file(), {})) == ErrorCode::not_found);
  CHECK(code_of(open_sqlite_store(folder.file(), {.read_only = true})) == ErrorCode::not_found);
  CHECK_FALSE(std::filesystem::exists(folder.file()));
  CHECK(code_of(open_sqlite_store(folder.file("no/such/folder.db"), {.create = true})) ==
        ErrorCode::not_found);
}

TEST_CASE("AnEmptyFileIsNoStoreUnlessItIsToBeMade") {
  const StoreFolder folder;
  write_file(folder.file(), "");
  CHECK(code_of(open_sqlite_store(folder.file(), {})) == ErrorCode::unsupported);
  CHECK(code_of(open_sqlite_store(folder.file(), {.read_only = true})) == ErrorCode::unsupported);
  CHECK(open_sqlite_store(folder.file(), {.create = true}).has_value());
}
