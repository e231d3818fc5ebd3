// The whole check of an evidence log against the rows of its store.
#pragma once

#include <span>
#include <stop_token>

#include "logger/store/log/log_report.hpp"
#include "logger/store/log/logged_tables.hpp"
#include "logger/store/sqlite_handle.hpp"

namespace logger::store {

// As EvidenceLog::check. REQUIRES: a read transaction, so that all of it is of one moment.
[[nodiscard]] Result<LogReport> check_log(
    Connection& connection, std::span<const analysis::evidence::TreeHead> earlier_heads,
    const std::stop_token& stop);

// As EvidenceLog::check_facts. REQUIRES: a read transaction.
[[nodiscard]] Result<LogReport> check_logged_facts(Connection& connection);

// The row's box by its id text; "?" when the file has no such box.
[[nodiscard]] Result<EntryRow> entry_row_from(Connection& connection, const RowName& name);

}  // namespace logger::store
