#include "tests/benchmarks/year_store.hpp"

#include <sqlite3.h>

#include <memory>

#include "tests/benchmarks/bench_folder.hpp"
#include "tests/benchmarks/big_store.hpp"

namespace benchmarks {
namespace {

constexpr std::int64_t kMinutesPerRecord = 5;

// A record every five minutes out of the site's one a minute.
BoxBatch year_batch(std::int64_t first, std::int64_t count) {
  BoxBatch batch;
  batch.box_id = "box-1";
  for (std::int64_t i = first; i < first + count; ++i) {
    Record record = sample_record(0, i * kMinutesPerRecord);
    record.id.sequence = i;
    batch.records.push_back(record);
    const std::int64_t ticks_ms = record.ticks_ms + 500;
    batch.exchanges.emplace_back(record.id.boot,
                                 analysis::base::ClockExchange{
                                     ticks_ms, kSiteStart + analysis::base::Micros{ticks_ms * 1000},
                                     analysis::base::Micros{20'000}});
  }
  return batch;
}

}  // namespace

void make_year_store(const std::string& path, std::int64_t records_per_commit) {
  const auto store = required(logger::store::open_sqlite_store(path, {.create = true}));
  required(store->mark_simulated(true));
  for (std::int64_t first = 1; first <= kYearRecords; first += records_per_commit) {
    const std::int64_t count = std::min(records_per_commit, kYearRecords - first + 1);
    required(store->commit({.boxes = {year_batch(first, count)}}));
  }
}

double seconds_of_reading_rows(const std::string& path) {
  sqlite3* raw = nullptr;
  if (sqlite3_open_v2(path.c_str(), &raw, SQLITE_OPEN_READONLY, nullptr) != SQLITE_OK) {
    std::abort();
  }
  const std::unique_ptr<sqlite3, int (*)(sqlite3*)> database(raw, sqlite3_close);
  sqlite3_stmt* prepared = nullptr;
  if (sqlite3_prepare_v2(raw, "SELECT * FROM records", -1, &prepared, nullptr) != SQLITE_OK) {
    std::fprintf(stderr, "%s\n", sqlite3_errmsg(raw));
    std::abort();
  }
  const std::unique_ptr<sqlite3_stmt, int (*)(sqlite3_stmt*)> statement(prepared, sqlite3_finalize);
  std::int64_t rows = 0;
  std::int64_t sum = 0;
  const Stopwatch watch;
  while (sqlite3_step(prepared) == SQLITE_ROW) {
    ++rows;
    for (int column = 0; column < sqlite3_column_count(prepared); ++column) {
      sum += sqlite3_column_int64(prepared, column);
    }
  }
  const double seconds = watch.seconds();
  if (rows != kYearRecords || sum == 0) {
    std::abort();
  }
  return seconds;
}

}  // namespace benchmarks
