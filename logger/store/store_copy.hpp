// Copies a store while others read and write it. Any thread; opens connections of its own.
#pragma once

#include <string>

#include "logger/store/error.hpp"

namespace logger::store {

// Makes the file `to`, one file without a write-ahead log, that equals `from` as of one commit.
// REQUIRES: `to` does not exist. After an error what is there of it is for the caller to remove.
// Errors: those of opening a store read-only; no_space, io.
[[nodiscard]] Result<void> copy_store(const std::string& from, const std::string& to);

}  // namespace logger::store
