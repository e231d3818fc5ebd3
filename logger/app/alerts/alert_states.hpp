// Alert instances as the store keeps them.
#pragma once

#include <vector>

#include "analysis/alerts/alert_rules.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::app {

[[nodiscard]] store::Result<std::vector<analysis::alerts::Alert>> alerts_from_store(
    store::ReadingStore& store);
[[nodiscard]] store::AlertState row_from_alert(const analysis::alerts::Alert& alert);

}  // namespace logger::app
