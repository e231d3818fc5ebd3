// Deliveries as rows: what is on its way to whom. No part of the evidence log.
#pragma once

#include <vector>

#include "logger/store/reading_store.hpp"
#include "logger/store/sqlite_handle.hpp"

namespace logger::store {

// Both write; REQUIRES: in a transaction. A delivery that is there already is left as it is.
Result<void> insert_delivery(Connection& connection, const Delivery& delivery);
// not_found when there is none of that id.
Result<void> update_delivery(Connection& connection, const Delivery& delivery);

[[nodiscard]] Result<std::vector<Delivery>> read_waiting_deliveries(Connection& connection);
[[nodiscard]] Result<std::vector<Delivery>> read_recent_deliveries(Connection& connection,
                                                                   int limit);

}  // namespace logger::store
