// Opens a store file with the settings every connection of ours has
// (docs/adr/0002-sqlite-store.md), makes sure that it is ours, and brings its schema up to date.
#pragma once

#include <string>

#include "logger/store/reading_store.hpp"
#include "logger/store/sqlite_handle.hpp"

namespace logger::store {

// Errors as open_sqlite_store.
[[nodiscard]] Result<Connection> open_store_file(const std::string& path,
                                                 const OpenOptions& options);

}  // namespace logger::store
