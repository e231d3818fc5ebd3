#include <random>

#include "logger/store/store_check.hpp"
#include "tests/store/store_folder.hpp"

using namespace store_tests;

namespace {

constexpr std::int64_t kBatchRecords = 20;

// A closed store of 3000 records; gives its bytes.
std::string make_store(const std::string& path) {
  {
    const auto store = open_marked(path);
    for (std::int64_t first = 1; first <= 3000; first += 500) {
      must(store->commit(batch_of("box-a", samples(first, first + 499))));
    }
  }
  return read_file(path);
}

// True when the records are a prefix of whole batches; gives how many records.
std::int64_t whole_batches(ReadingStore& store) {
  const std::vector<Record> records = all_records(store, "box-a");
  const auto count = static_cast<std::int64_t>(records.size());
  REQUIRE(count % kBatchRecords == 0);
  REQUIRE(records == samples(1, count));
  return count;
}

}  // namespace

TEST_CASE("ASoundStorePassesItsChecks") {
  const StoreFolder folder;
  make_store(folder.file());
  must(quick_check(folder.file()));
  must(full_check(folder.file()));
  const auto writer = must(open_sqlite_store(folder.file(), {}));
  must(writer->commit(batch_of("box-a", samples(3001, 3002))));
  must(full_check(folder.file()));  // while a writer has it open
}

TEST_CASE("ACheckCanBeStopped") {
  const StoreFolder folder;
  make_store(folder.file());
  std::stop_source source;
  source.request_stop();
  CHECK(code_of(quick_check(folder.file(), source.get_token())) == ErrorCode::unavailable);
}

TEST_CASE("AMissingParentRowIsFoundByTheFullCheckOnly") {
  const StoreFolder folder;
  make_store(folder.file());
  {
    PlainSqlite plain{folder.file()};
    REQUIRE(plain.execute("PRAGMA foreign_keys = OFF; INSERT INTO exchanges VALUES "
                          "(77, 1, 1, 1, 1)") == SQLITE_OK);
  }
  must(quick_check(folder.file()));
  const auto found = full_check(folder.file());
  CHECK(code_of(found) == ErrorCode::corrupt);
  CHECK(found.error().context.find("exchanges") != std::string::npos);
}

TEST_CASE("AFileThatIsNoDatabaseIsCorrupt") {
  const StoreFolder folder;
  write_file(folder.file(), std::string(5000, 'x'));
  CHECK(code_of(open_sqlite_store(folder.file(), {.create = true})) == ErrorCode::corrupt);
  CHECK(code_of(quick_check(folder.file())) == ErrorCode::corrupt);
}

TEST_CASE("ATruncatedFileIsCorrupt") {
  const StoreFolder folder;
  const std::string bytes = make_store(folder.file());
  for (const std::size_t keep : {bytes.size() / 2, bytes.size() - 1024, std::size_t{20'000}}) {
    INFO("kept " << keep << " of " << bytes.size() << " bytes");
    write_file(folder.file(), bytes.substr(0, keep));
    CHECK(code_of(quick_check(folder.file())) == ErrorCode::corrupt);
    // Reading through the store reports it too, and never gives a record that was not stored.
    const auto opened = open_sqlite_store(folder.file(), {.read_only = true});
    if (opened) {
      std::int64_t next = 1;
      const auto visited = opened.value()->visit_records(
          "box-a", kFirstId, kLastId,
          [&](const Record& record) { return record == sample(next++); });
      CHECK(code_of(visited) == ErrorCode::corrupt);
    } else {
      CHECK(opened.error().code == ErrorCode::corrupt);
    }
  }
}

TEST_CASE("OverwrittenPagesAreFoundAndNeverCrash") {
  const unsigned seed = 83;
  INFO("seed " << seed);
  std::mt19937 random{seed};
  const StoreFolder folder;
  const std::string bytes = make_store(folder.file());
  int found = 0;
  for (int round = 0; round < 60; ++round) {
    std::string damaged = bytes;
    const std::size_t page = 1024 * (1 + random() % (bytes.size() / 1024 - 1));
    for (std::size_t at = page; at < page + 1024; ++at) {
      damaged[at] = static_cast<char>(random());
    }
    write_file(folder.file(), damaged);
    const Result<void> checked = quick_check(folder.file());
    found += checked ? 0 : 1;
    CHECK((checked || checked.error().code == ErrorCode::corrupt));
    const auto opened = open_sqlite_store(folder.file(), {});
    if (opened) {
      std::int64_t visited = 0;
      static_cast<void>(opened.value()->visit_records(
          "box-a", kFirstId, kLastId, [&](const Record&) { return ++visited > 0; }));
      CHECK(visited <= 3000);
    }
  }
  CHECK(found == 60);
}

TEST_CASE("FlippedBytesNeverCrash") {
  const unsigned seed = 131;
  INFO("seed " << seed);
  std::mt19937 random{seed};
  const StoreFolder folder;
  const std::string bytes = make_store(folder.file());
  for (int round = 0; round < 100; ++round) {
    std::string damaged = bytes;
    damaged[random() % (round % 3 == 0 ? 4096 : bytes.size())] ^=
        static_cast<char>(1U << (random() % 8));
    write_file(folder.file(), damaged);
    static_cast<void>(quick_check(folder.file()));
    const auto opened = open_sqlite_store(folder.file(), {});
    if (!opened) {
      CHECK((opened.error().code == ErrorCode::corrupt ||
             opened.error().code == ErrorCode::unsupported ||
             opened.error().code == ErrorCode::io));
      continue;
    }
    ReadingStore& store = *opened.value();
    static_cast<void>(
        store.visit_records("box-a", kFirstId, kLastId, [](const Record&) { return true; }));
    static_cast<void>(store.commit(batch_of("box-a", samples(2990, 3010))));
  }
}

TEST_CASE("ANumberOutOfItsRangeIsCorrupt") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  must(store->commit(batch_of("box-a", samples(1, 1))));
  {
    PlainSqlite plain{folder.file()};
    REQUIRE(plain.execute("INSERT INTO records (box, boot, sequence, ticks_ms, flags, statuses) "
                          "VALUES (1, 1, 2, 0, 65536, 0)") == SQLITE_OK);
  }
  CHECK(code_of(store->visit_records("box-a", kFirstId, kLastId,
                                     [](const Record&) { return true; })) == ErrorCode::corrupt);
  CHECK(code_of(store->last_record("box-a")) == ErrorCode::corrupt);
}

// What power loss leaves: the log up to some byte, or with a byte that never got there.
TEST_CASE("ACutOrTornLogHoldsWholeCommitsOnly") {
  constexpr std::size_t kLogHeader = 32;
  constexpr std::size_t kHalfFrame = 524;  // a frame is 24 bytes and a page of 1024
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  for (std::int64_t batch = 0; batch < 8; ++batch) {
    const std::int64_t first = batch * kBatchRecords + 1;
    must(store->commit(batch_of("box-a", samples(first, first + kBatchRecords - 1))));
  }
  const std::string main = read_file(folder.file());
  const std::string log = read_file(folder.file() + "-wal");
  REQUIRE(log.size() > 50'000);
  const auto count_with = [&](const std::string& kept_log) {
    const std::string path = folder.file("after.db");
    write_file(path, main);
    write_file(path + "-wal", kept_log);
    std::filesystem::remove(path + "-shm");
    return whole_batches(*must(open_sqlite_store(path, {.create = true})));
  };
  std::int64_t before = 0;
  for (std::size_t keep = kLogHeader; keep <= log.size(); keep += kHalfFrame) {
    const std::int64_t count = count_with(log.substr(0, keep));
    CHECK(count >= before);
    before = count;
    if (keep < log.size()) {
      std::string torn = log;
      torn[keep] ^= 0x10;
      CHECK(count_with(torn) <= count);
    }
  }
  CHECK(before == 8 * kBatchRecords);
}
