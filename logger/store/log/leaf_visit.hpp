// Walks the entries of the evidence log and makes each leaf anew from the row that it names.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>

#include "analysis/evidence/digest.hpp"
#include "logger/store/log/logged_tables.hpp"

namespace logger::store {

struct VisitedLeaf {
  std::uint64_t position = 0;
  RowName row;
  // Of the row as it is in its table now; nullopt when it is not there or can't be read.
  std::optional<analysis::evidence::Sha256> hash;
  bool row_found = false;
  bool tag_matches = false;  // with what the log kept of the hash
};

// Where the entries do not follow each other, so that later positions mean nothing.
struct LogBreak {
  std::uint64_t position = 0;
  std::string what;
};

// Visits entries begin..end - 1; the visitor returns false to stop. One run of rows is in memory at
// a time. Gives the break that ended it, if one did.
[[nodiscard]] Result<std::optional<LogBreak>> visit_leaves(
    Connection& connection, std::uint64_t begin, std::uint64_t end,
    const std::function<bool(const VisitedLeaf&)>& visitor);

}  // namespace logger::store
