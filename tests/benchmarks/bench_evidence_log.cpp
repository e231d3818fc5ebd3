// The evidence log of a store of ten million records: bytes it adds to the file, rows per second of
// the whole check, time of a proof, and the largest memory of all of it.
#include <sqlite3.h>
#include <sys/resource.h>

#include "logger/store/evidence_log.hpp"
#include "tests/benchmarks/bench_folder.hpp"
#include "tests/benchmarks/big_store.hpp"

namespace {

using namespace benchmarks;

constexpr std::size_t kBoxes = 4;
constexpr std::int64_t kRecordsPerBox = 2'500'000;
constexpr std::int64_t kDayRecords = 1440;  // of a box, one a minute
constexpr std::int64_t kRecordsPerRound = 5;
constexpr int kProofs = 20;

// Bytes of all pages of the tables and indexes whose name begins so.
double bytes_of_tables(const std::string& path, const std::string& beginning) {
  sqlite3* db = nullptr;
  sqlite3_stmt* sum = nullptr;
  const std::string sql = "SELECT sum(pgsize) FROM dbstat WHERE name LIKE '" + beginning + "%'";
  double bytes = 0.0;
  if (sqlite3_open(path.c_str(), &db) == SQLITE_OK &&
      sqlite3_prepare_v2(db, sql.c_str(), -1, &sum, nullptr) == SQLITE_OK &&
      sqlite3_step(sum) == SQLITE_ROW) {
    bytes = sqlite3_column_double(sum, 0);
  } else {
    std::fprintf(stderr, "sizes of %s: %s\n", path.c_str(), sqlite3_errmsg(db));
  }
  sqlite3_finalize(sum);
  sqlite3_close(db);
  return bytes;
}

void print_bytes(const std::string& path, const char* commits, double records) {
  std::printf("%s: %.1f B a record for records, %.1f B for the log\n", commits,
              bytes_of_tables(path, "records") / records, bytes_of_tables(path, "log_") / records);
}

// Ten days as the daemon writes them: a commit of all boxes every five minutes.
void measure_daily_commits(const std::string& path) {
  const std::vector<std::string> ids = numbered_boxes(kBoxes);
  {
    const auto store = required(logger::store::open_sqlite_store(path, {.create = true}));
    required(store->mark_simulated(true));
    for (std::int64_t first = 1; first <= 10 * kDayRecords; first += kRecordsPerRound) {
      logger::store::CommitBatch batch;
      for (std::size_t box = 0; box < kBoxes; ++box) {
        batch.boxes.push_back(sample_batch(ids[box], box, first, kRecordsPerRound));
      }
      required(store->commit(batch));
    }
  }
  print_bytes(path, "commits of 5 records and an exchange a box", 10.0 * kDayRecords * kBoxes);
}

rusage used() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return usage;
}

double seconds_from(const timeval& time) {
  return static_cast<double>(time.tv_sec) + 1e-6 * static_cast<double>(time.tv_usec);
}

// Of this process so far, which a loaded machine does not stretch.
double processor_seconds() { return seconds_from(used().ru_utime) + seconds_from(used().ru_stime); }

void measure_big_log(const std::string& path) {
  const Stopwatch building;
  required(make_big_store(path, numbered_boxes(kBoxes), kRecordsPerBox));
  std::printf("built in %.1f s\n", building.seconds());
  print_bytes(path, "commits of 10,000 records", static_cast<double>(kRecordsPerBox) * kBoxes);
  auto log = required(logger::store::EvidenceLog::open(path));
  const auto head = required(log.head());
  const Stopwatch proving;
  for (std::uint64_t i = 0; i < kProofs; ++i) {
    required(log.prove_entry((2 * i + 1) * head.size / (2 * kProofs), head.size));
  }
  std::printf("a proof of one of %.0f entries: %.1f ms\n", static_cast<double>(head.size),
              1000.0 * proving.seconds() / kProofs);
  const Stopwatch checking;
  const double before = processor_seconds();
  const auto report = required(log.check());
  const double seconds = checking.seconds();
  std::printf("check: %.1f s (%.1f s of processor time), %.0f rows/s, %s\n", seconds,
              processor_seconds() - before, static_cast<double>(head.size) / seconds,
              report.sound() ? "sound" : "NOT SOUND");
}

}  // namespace

int main(int argc, char** argv) {
  const BenchFolder folder{argc, argv};
  measure_daily_commits(folder.file("days"));
  measure_big_log(folder.file("big"));
  std::printf("largest resident set: %.1f MiB\n", static_cast<double>(used().ru_maxrss) / 1024.0);
  return 0;
}
