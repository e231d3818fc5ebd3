// The salt of rows whose leaf would tell its text to whoever tries names.
#pragma once

#include <string>

#include "logger/store/error.hpp"

namespace logger::store {

// Draws a salt at random where `salt` is empty. invalid_input for another length than that of a
// salt; unavailable when the system gives no random numbers.
[[nodiscard]] Result<void> fill_salt(std::string& salt);

}  // namespace logger::store
