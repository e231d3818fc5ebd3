// The tables whose rows stand in the evidence log: how a row is named there and how its leaf is
// made from the file. One list serves taking over, proving and checking.
#pragma once

#include <array>
#include <cstdint>
#include <string>

#include "logger/store/log/leaf_encoding.hpp"
#include "logger/store/sqlite_handle.hpp"

namespace logger::store {

// A row within its table. What a kind does not have is 0.
struct RowName {
  LeafKind kind = LeafKind::mark;
  std::int64_t box = 0;  // key of `boxes`
  std::int64_t boot = 0;
  std::int64_t number = 0;       // sequence, ticks_ms, first sequence of a gap, or id
  std::int64_t last_number = 0;  // last sequence of a gap
  bool operator==(const RowName&) const = default;
};

struct LoggedTable {
  LeafKind kind;
  const char* table;
  // SQL expressions of the parts of a RowName.
  const char* box;
  const char* boot;
  const char* number;
  const char* last_number;
  const char* is_of_kind;  // which rows of the table are of this kind
  // What `leaf_from` reads, from column 0 on.
  std::string columns;
  std::string (*leaf_from)(Statement& row);
};

// In the order in which rows of an older store are taken over.
[[nodiscard]] const std::array<LoggedTable, 11>& logged_tables();
// nullptr for a number that is no kind.
[[nodiscard]] const LoggedTable* logged_table(std::int64_t kind);

struct LoggedRow {
  RowName name;
  std::string leaf;  // empty where a number is out of its range
};

// "SELECT ... FROM table", for logged_row_from; the name's parts are row_box, row_boot, row_number
// and row_last_number in it.
[[nodiscard]] std::string select_logged(const LoggedTable& table);
[[nodiscard]] LoggedRow logged_row_from(const LoggedTable& table, Statement& row);

}  // namespace logger::store
