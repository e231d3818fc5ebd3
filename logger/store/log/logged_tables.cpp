#include "logger/store/log/logged_tables.hpp"

#include <algorithm>

#include "logger/store/log/fact_rows.hpp"
#include "logger/store/record_rows.hpp"

namespace logger::store {
namespace {

constexpr int kNameColumns = 4;

// Columns after those of the record or the exchange.
constexpr int kRecordBoxId = 13;
constexpr int kExchangeBoot = 3;
constexpr int kExchangeBoxId = 4;

std::string id_of_box(const char* table) {
  return std::string("ifnull((SELECT box_id FROM boxes b WHERE b.box = ") + table + ".box), '')";
}

std::string mark_leaf(Statement& row) { return leaf_from_mark(row.number<std::uint8_t>(0) != 0); }

std::string exchange_leaf(Statement& row) {
  return leaf_from_exchange(row.text(kExchangeBoxId), row.number<std::uint32_t>(kExchangeBoot),
                            exchange_from_row(row));
}

std::string record_leaf(Statement& row) {
  return leaf_from_record(row.text(kRecordBoxId), record_from_row(row));
}

std::string gap_leaf(Statement& row) { return leaf_from_gap(gap_from_row(row)); }
std::string calibration_leaf(Statement& row) {
  return leaf_from_calibration(calibration_from_row(row));
}
std::string note_leaf(Statement& row) { return leaf_from_note(note_from_row(row)); }
std::string event_leaf(Statement& row) { return leaf_from_event(event_from_row(row)); }
std::string message_leaf(Statement& row) { return leaf_from_message(message_from_row(row)); }

}  // namespace

const std::array<LoggedTable, 11>& logged_tables() {
  static const char* const kUnsalted = "salt IS NULL";
  static const char* const kSalted = "salt IS NOT NULL";
  static const std::array<LoggedTable, 11> tables = {{
      {LeafKind::mark, "store_state", "0", "0", "one - 1", "0", "simulated IS NOT NULL",
       "simulated", mark_leaf},
      {LeafKind::exchange, "exchanges", "box", "boot", "ticks_ms", "0", "1",
       std::string(kExchangeColumns) + ", boot, " + id_of_box("exchanges"), exchange_leaf},
      {LeafKind::record, "records", "box", "boot", "sequence", "0", "1",
       std::string(kRecordColumns) + ", " + id_of_box("records"), record_leaf},
      {LeafKind::gap, "gaps", "box", "boot", "first_sequence", "last_sequence", "1", kGapColumns,
       gap_leaf},
      {LeafKind::calibration, "calibrations", "0", "0", "id", "0", kUnsalted, kCalibrationColumns,
       calibration_leaf},
      {LeafKind::salted_calibration, "calibrations", "0", "0", "id", "0", kSalted,
       kCalibrationColumns, calibration_leaf},
      {LeafKind::note, "notes", "0", "0", "id", "0", kUnsalted, kNoteColumns, note_leaf},
      {LeafKind::salted_note, "notes", "0", "0", "id", "0", kSalted, kNoteColumns, note_leaf},
      {LeafKind::message, "messages", "0", "0", "id", "0", kUnsalted, kMessageColumns,
       message_leaf},
      {LeafKind::salted_message, "messages", "0", "0", "id", "0", kSalted, kMessageColumns,
       message_leaf},
      {LeafKind::event, "events", "0", "0", "id", "0", "1", kEventColumns, event_leaf},
  }};
  return tables;
}

const LoggedTable* logged_table(std::int64_t kind) {
  const auto& tables = logged_tables();
  const auto found = std::find_if(tables.begin(), tables.end(), [&](const LoggedTable& table) {
    return static_cast<std::int64_t>(table.kind) == kind;
  });
  return found == tables.end() ? nullptr : &*found;
}

std::string select_logged(const LoggedTable& table) {
  return "SELECT " + table.columns + ", " + table.box + " AS row_box, " + table.boot +
         " AS row_boot, " + table.number + " AS row_number, " + table.last_number +
         " AS row_last_number FROM " + table.table;
}

LoggedRow logged_row_from(const LoggedTable& table, Statement& row) {
  const int name = row.column_count() - kNameColumns;
  LoggedRow logged{{table.kind, row.integer(name), row.integer(name + 1), row.integer(name + 2),
                    row.integer(name + 3)},
                   table.leaf_from(row)};
  if (row.misfit()) {
    logged.leaf.clear();
  }
  return logged;
}

}  // namespace logger::store
