#include "logger/store/store_check.hpp"

#include "logger/store/store_file.hpp"

namespace logger::store {
namespace {

// How many SQLite instructions pass between two looks at the stop token: about a millisecond.
constexpr int kInstructionsPerLook = 10000;

int stop_requested(void* stop) {
  return static_cast<const std::stop_token*>(stop)->stop_requested() ? 1 : 0;
}

std::string row_text(Statement& row) { return row.text(0); }

std::string broken_reference(Statement& row) {
  return "table " + row.text(0) + " refers to a missing row of " + row.text(2);
}

// Runs a check that gives one row for each finding, or only "ok".
Result<void> expect_nothing(Connection& connection, const char* sql,
                            std::string (*text_of)(Statement&)) {
  const auto found = read_row(connection, sql, text_of);
  if (!found) {
    return Failure{found.error()};
  }
  if (found.value() && *found.value() != "ok") {
    return failure(ErrorCode::corrupt, "store " + connection.path() + ": damaged: " +
                                           *found.value() + "; restore it from a backup");
  }
  return {};
}

Result<Connection> open_for_check(const std::string& path, const std::stop_token& stop) {
  Result<Connection> connection = open_store_file(path, {.read_only = true});
  if (connection) {
    sqlite3_progress_handler(connection.value().raw(), kInstructionsPerLook, stop_requested,
                             const_cast<std::stop_token*>(&stop));
  }
  return connection;
}

}  // namespace

Result<void> quick_check(const std::string& path, const std::stop_token& stop) {
  Result<Connection> connection = open_for_check(path, stop);
  if (!connection) {
    return Failure{connection.error()};
  }
  return expect_nothing(connection.value(), "PRAGMA quick_check(1)", row_text);
}

Result<void> full_check(const std::string& path, const std::stop_token& stop) {
  Result<Connection> connection = open_for_check(path, stop);
  if (!connection) {
    return Failure{connection.error()};
  }
  Result<void> sound = expect_nothing(connection.value(), "PRAGMA integrity_check(1)", row_text);
  if (sound) {
    sound = expect_nothing(connection.value(), "PRAGMA foreign_key_check", broken_reference);
  }
  return sound;
}

}  // namespace logger::store
