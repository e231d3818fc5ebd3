// Records as rows of the table `records`: the one place that knows its columns.
#pragma once

#include <cstdint>
#include <optional>

#include "analysis/base/record.hpp"
#include "logger/store/sqlite_handle.hpp"

namespace logger::store {

using analysis::base::Record;

// "boot, sequence, ticks_ms, ..." as record_from_row reads them, from column 0.
inline constexpr const char* kRecordColumns =
    "boot, sequence, ticks_ms, flags, statuses, raw_counts_0, raw_counts_1, raw_counts_2, "
    "raw_counts_3, raw_counts_4, raw_counts_5, raw_counts_6, raw_counts_7";

// Why a record cannot be stored, or nothing.
[[nodiscard]] std::optional<std::string> unfit_record(const Record& record);

// What reads back: channels that are not fitted have no raw count.
[[nodiscard]] Record as_stored(Record record);

// REQUIRES: no row unless Statement::step() said so; check misfit() afterwards.
[[nodiscard]] Record record_from_row(Statement& row);

enum class RecordFate { inserted, repeated, conflicting };

// Inserts records of one box, comparing with what is stored where the identity is taken.
class RecordInsert {
 public:
  // REQUIRES: a write transaction that outlives this.
  static Result<RecordInsert> open(Connection& connection, std::int64_t box);
  // REQUIRES: !unfit_record(record).
  Result<RecordFate> add(const Record& record);

 private:
  RecordInsert(Connection& connection, Statement& insert, Statement& find, std::int64_t box)
      : connection_(connection), insert_(insert), find_(find), box_(box) {}
  Result<RecordFate> compare(const Record& record);

  Connection& connection_;
  Statement& insert_;
  Statement& find_;
  std::int64_t box_;
};

}  // namespace logger::store
