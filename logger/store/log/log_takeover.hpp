// Brings the rows of a store that had no evidence log into one.
#pragma once

#include "logger/store/sqlite_handle.hpp"

namespace logger::store {

// Every logged row in the order of logged_tables(), then an event "log_begun" with their number,
// which itself is the last entry: what was before it stands on the word of whoever took it over. An
// empty store gets no event. A store whose log has entries is left as it is. Memory does not grow
// with the rows. REQUIRES: a write transaction.
[[nodiscard]] Result<void> take_over_rows(Connection& connection);

}  // namespace logger::store
