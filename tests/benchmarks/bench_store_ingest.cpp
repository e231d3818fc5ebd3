// Rows per second of ReadingStore::commit against bare prepared inserts of the same rows into a
// table of the same shape, 100 records a commit, synchronous FULL on both sides, in alternating
// rounds.
#include <sqlite3.h>

#include <algorithm>

#include "tests/benchmarks/bench_folder.hpp"
#include "tests/benchmarks/big_store.hpp"

namespace {

using namespace benchmarks;
using analysis::base::ChannelStatus;
using logger::store::CommitBatch;

constexpr int kRounds = 7;
constexpr std::int64_t kCommits = 1000;
constexpr std::size_t kBoxes = 4;
constexpr std::int64_t kRecordsPerBox = 25;
constexpr double kRows = static_cast<double>(kCommits * kRecordsPerBox) * kBoxes;
constexpr double kTargetRatio = 0.6;

std::vector<CommitBatch> make_batches() {
  const std::vector<std::string> ids = numbered_boxes(kBoxes);
  std::vector<CommitBatch> batches(kCommits);
  for (std::size_t commit = 0; commit < batches.size(); ++commit) {
    for (std::size_t box = 0; box < kBoxes; ++box) {
      const auto first = static_cast<std::int64_t>(commit) * kRecordsPerBox + 1;
      batches[commit].boxes.push_back(sample_batch(ids[box], box, first, kRecordsPerBox));
      batches[commit].boxes.back().exchanges.clear();  // both sides write records only
    }
  }
  return batches;
}

double store_rows_per_second(const std::string& path, const std::vector<CommitBatch>& batches) {
  const auto store = required(logger::store::open_sqlite_store(path, {.create = true}));
  required(store->mark_simulated(true));
  const Stopwatch watch;
  for (const CommitBatch& batch : batches) {
    required(store->commit(batch));
  }
  return kRows / watch.seconds();
}

void check(sqlite3* db, int code) {
  if (code != SQLITE_OK && code != SQLITE_DONE) {
    std::fprintf(stderr, "bare SQLite: %s\n", sqlite3_errmsg(db));
    std::exit(4);
  }
}

void insert_bare(sqlite3* db, sqlite3_stmt* insert, std::int64_t box, const Record& record) {
  std::int64_t statuses = 0;
  sqlite3_bind_int64(insert, 1, box);
  sqlite3_bind_int64(insert, 2, record.id.boot);
  sqlite3_bind_int64(insert, 3, record.id.sequence);
  sqlite3_bind_int64(insert, 4, record.ticks_ms);
  sqlite3_bind_int64(insert, 5, record.flags);
  for (int channel = 0; channel < 8; ++channel) {
    const auto index = static_cast<std::size_t>(channel);
    statuses |= static_cast<std::int64_t>(record.statuses[index]) << (4 * channel);
    if (record.statuses[index] == ChannelStatus::not_fitted) {
      sqlite3_bind_null(insert, 7 + channel);
    } else {
      sqlite3_bind_int64(insert, 7 + channel, record.raw_counts[index]);
    }
  }
  sqlite3_bind_int64(insert, 6, statuses);
  check(db, sqlite3_step(insert));
  sqlite3_reset(insert);
}

double bare_rows_per_second(const std::string& path, const std::vector<CommitBatch>& batches) {
  sqlite3* db = nullptr;
  check(db, sqlite3_open(path.c_str(), &db));
  check(db, sqlite3_exec(db,
                         "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;"
                         "CREATE TABLE records (box INTEGER NOT NULL, boot INTEGER NOT NULL,"
                         " sequence INTEGER NOT NULL, ticks_ms INTEGER NOT NULL,"
                         " flags INTEGER NOT NULL, statuses INTEGER NOT NULL,"
                         " raw_counts_0 INTEGER, raw_counts_1 INTEGER, raw_counts_2 INTEGER,"
                         " raw_counts_3 INTEGER, raw_counts_4 INTEGER, raw_counts_5 INTEGER,"
                         " raw_counts_6 INTEGER, raw_counts_7 INTEGER,"
                         " PRIMARY KEY (box, boot, sequence)) STRICT, WITHOUT ROWID",
                         nullptr, nullptr, nullptr));
  sqlite3_stmt* insert = nullptr;
  check(db, sqlite3_prepare_v2(db, "INSERT INTO records VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?)", -1,
                               &insert, nullptr));
  const Stopwatch watch;
  for (const CommitBatch& batch : batches) {
    check(db, sqlite3_exec(db, "BEGIN", nullptr, nullptr, nullptr));
    for (std::size_t box = 0; box < batch.boxes.size(); ++box) {
      for (const Record& record : batch.boxes[box].records) {
        insert_bare(db, insert, static_cast<std::int64_t>(box) + 1, record);
      }
    }
    check(db, sqlite3_exec(db, "COMMIT", nullptr, nullptr, nullptr));
  }
  const double rows_per_second = kRows / watch.seconds();
  sqlite3_finalize(insert);
  sqlite3_close(db);
  return rows_per_second;
}

double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

}  // namespace

int main(int argc, char** argv) {
  const BenchFolder folder{argc, argv};
  const std::vector<CommitBatch> batches = make_batches();
  std::vector<double> store;
  std::vector<double> bare;
  for (int round = 0; round < kRounds; ++round) {
    const std::string number = std::to_string(round);
    bare.push_back(bare_rows_per_second(folder.file("bare" + number), batches));
    store.push_back(store_rows_per_second(folder.file("store" + number), batches));
    std::printf("round %d: bare %.0f rows/s, store %.0f rows/s\n", round + 1, bare.back(),
                store.back());
  }
  const double ratio = median(store) / median(bare);
  std::printf("median of %d rounds, 100 records a commit: bare %.0f rows/s, store %.0f rows/s\n",
              kRounds, median(bare), median(store));
  std::printf("ratio %.2f (target at least %.2f)\n", ratio, kTargetRatio);
  return ratio >= kTargetRatio ? 0 : 2;
}
