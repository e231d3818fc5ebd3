// The schema of a store file as a list of migrations, and how a file is brought up to date. The
// version is PRAGMA user_version; 0 is an empty file.
#pragma once

#include <cstdint>
#include <span>

#include "logger/store/sqlite_handle.hpp"

namespace logger::store {

// PRAGMA application_id of our files: "dwlg". Permanent.
inline constexpr std::int64_t kApplicationId = 0x64776c67;

// Brings a file from version `to_version - 1` to `to_version`. Permanent once released.
struct Migration {
  int to_version = 0;
  const char* sql = nullptr;
  // Fills what the SQL made, in the same transaction; nullptr where there is nothing to fill.
  Result<void> (*fill)(Connection&) = nullptr;
};

// In order, to_version 1, 2, 3 ... without a hole.
[[nodiscard]] std::span<const Migration> schema_migrations();

// PRAGMA user_version. unsupported when the file belongs to another application.
[[nodiscard]] Result<int> schema_version(Connection& connection);

// Applies what is missing, all in one transaction: it succeeds whole or changes nothing.
// unsupported, with both numbers, when the file is newer than the list.
[[nodiscard]] Result<void> migrate(Connection& connection, std::span<const Migration> migrations);

}  // namespace logger::store
