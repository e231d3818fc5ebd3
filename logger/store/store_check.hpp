// Looks for damage in a store file, through a read-only connection of its own, while others may
// read and write. Any thread. Reads every page once, so it is for the background or for `inspect`.
#pragma once

#include <stop_token>
#include <string>

#include "logger/store/error.hpp"

namespace logger::store {

// Page structure and row formats, without comparing indexes to tables. Errors: corrupt with what
// was found first; unavailable when `stop` was requested before the end; those of opening a store.
[[nodiscard]] Result<void> quick_check(const std::string& path, const std::stop_token& stop = {});

// The above with indexes, checks and foreign keys.
[[nodiscard]] Result<void> full_check(const std::string& path, const std::stop_token& stop = {});

}  // namespace logger::store
