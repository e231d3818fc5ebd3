// A folder for one test's store file, sample data, and a plain SQLite connection that stands for
// someone else's program.
#pragma once

#include <sqlite3.h>
#include <stdlib.h>

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <limits>
#include <memory>
#include <string>
#include <vector>

#include "logger/store/reading_store.hpp"

namespace store_tests {

using namespace logger::store;
using analysis::base::ChannelStatus;
using analysis::base::Micros;

inline constexpr UtcMicros kStart{1'772'434'800'000'000};  // 2026-03-02T07:00:00Z
inline constexpr RecordId kFirstId{0, 0};
inline constexpr RecordId kLastId{std::numeric_limits<std::uint32_t>::max(),
                                  std::numeric_limits<std::int64_t>::max()};

class StoreFolder {
 public:
  StoreFolder() {
    std::string pattern = std::filesystem::temp_directory_path() / "dwellog-store-XXXXXX";
    REQUIRE(mkdtemp(pattern.data()) != nullptr);
    path_ = pattern;
  }
  StoreFolder(const StoreFolder&) = delete;
  StoreFolder& operator=(const StoreFolder&) = delete;
  ~StoreFolder() { std::filesystem::remove_all(path_); }
  [[nodiscard]] std::string file(const std::string& name = "job.db") const { return path_ / name; }

 private:
  std::filesystem::path path_;
};

// The value; the test ends with the error's text when there is none.
template <class T>
T must(Result<T> result) {
  INFO((result ? std::string{} : result.error().context));
  REQUIRE(result.has_value());
  return std::move(result).value();
}
inline void must(const Result<void>& result) {
  INFO((result ? std::string{} : result.error().context));
  REQUIRE(result.has_value());
}

template <class T>
ErrorCode code_of(const Result<T>& result) {
  REQUIRE_FALSE(result.has_value());
  return result.error().code;
}

// A store marked as real, made when missing.
inline std::unique_ptr<ReadingStore> open_marked(const std::string& path,
                                                 OpenOptions options = {.create = true}) {
  std::unique_ptr<ReadingStore> store = must(open_sqlite_store(path, options));
  must(store->mark_simulated(false));
  return store;
}

// Six channels fitted, one a minute; ticks start 500 ms after boot.
inline Record sample(std::int64_t sequence, std::uint32_t boot = 1) {
  Record record;
  record.id = {boot, sequence};
  record.ticks_ms = sequence * 60'000 + 500;
  record.statuses.fill(ChannelStatus::not_fitted);
  for (std::size_t channel = 0; channel < 6; ++channel) {
    record.statuses[channel] = ChannelStatus::ok;
    record.raw_counts[channel] = static_cast<std::int32_t>(1000 * channel + sequence % 1000);
  }
  return record;
}

inline std::vector<Record> samples(std::int64_t first, std::int64_t last, std::uint32_t boot = 1) {
  std::vector<Record> records;
  for (std::int64_t sequence = first; sequence <= last; ++sequence) {
    records.push_back(sample(sequence, boot));
  }
  return records;
}

inline CommitBatch batch_of(const std::string& box_id, std::vector<Record> records) {
  CommitBatch batch;
  batch.boxes.push_back({.box_id = box_id, .records = std::move(records)});
  return batch;
}

inline std::vector<Record> all_records(ReadingStore& store, const std::string& box_id,
                                       RecordId from = kFirstId, RecordId to = kLastId) {
  std::vector<Record> records;
  must(store.visit_records(box_id, from, to, [&](const Record& record) {
    records.push_back(record);
    return true;
  }));
  return records;
}

// Another program's connection.
class PlainSqlite {
 public:
  explicit PlainSqlite(const std::string& path) {
    sqlite3* raw = nullptr;
    REQUIRE(sqlite3_open(path.c_str(), &raw) == SQLITE_OK);
    raw_.reset(raw);
  }
  // SQLITE_OK or what went wrong, whose text is in message().
  int execute(const std::string& sql) {
    return sqlite3_exec(raw_.get(), sql.c_str(), nullptr, nullptr, nullptr);
  }
  [[nodiscard]] std::string message() const { return sqlite3_errmsg(raw_.get()); }
  // First column of the first row as text.
  std::string text(const std::string& sql) {
    sqlite3_stmt* statement = nullptr;
    REQUIRE(sqlite3_prepare_v2(raw_.get(), sql.c_str(), -1, &statement, nullptr) == SQLITE_OK);
    std::string found;
    if (sqlite3_step(statement) == SQLITE_ROW && sqlite3_column_text(statement, 0) != nullptr) {
      found = reinterpret_cast<const char*>(sqlite3_column_text(statement, 0));
    }
    sqlite3_finalize(statement);
    return found;
  }

 private:
  struct Close {
    void operator()(sqlite3* raw) const { sqlite3_close(raw); }
  };
  std::unique_ptr<sqlite3, Close> raw_;
};

inline std::string read_file(const std::string& path) {
  std::ifstream stream{path, std::ios::binary};
  return {std::istreambuf_iterator<char>{stream}, {}};
}
inline void write_file(const std::string& path, const std::string& bytes) {
  std::ofstream{path, std::ios::binary | std::ios::trunc} << bytes;
}

}  // namespace store_tests
