// What the boxes of a job recorded, dated and in order of time. One thread, the one of the store.
// Streams: memory is a few thousand records and the clock exchanges of one boot for each box.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "analysis/base/clock_map.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::app {

using analysis::base::DatedTime;
using analysis::base::kEarliestPlausibleUtc;
using analysis::base::Micros;
using analysis::base::UtcMicros;
using store::Record;
using store::RecordId;

// The clock map of one boot, from the exchanges that date ticks from `from_ticks_ms` on. Boot 0 is
// an import, whose ticks are UTC already.
[[nodiscard]] store::Result<analysis::base::ClockMap> clock_map_of(store::ReadingStore& store,
                                                                   const std::string& box_id,
                                                                   std::uint32_t boot,
                                                                   std::int64_t from_ticks_ms);

// When one stored record was taken; nullopt when it is not stored or its boot was never dated.
[[nodiscard]] store::Result<std::optional<DatedTime>> dated_record(store::ReadingStore& store,
                                                                   const std::string& box_id,
                                                                   RecordId id);
// Records of boots that were never dated: kept, shown, never used for a decision.
[[nodiscard]] store::Result<std::int64_t> undated_records(store::ReadingStore& store,
                                                          const std::string& box_id);

struct HistoryQuery {
  std::vector<std::string> box_ids;
  std::optional<UtcMicros> from;  // records dated from..to, both included
  std::optional<UtcMicros> to;
  std::map<std::string, RecordId> after;  // for these boxes only records after that one
  std::function<bool()> enough{};         // asked before each record; true ends the visit
};

using HistoryVisitor =
    std::function<void(const std::string& box_id, const Record& record, DatedTime at)>;

// In order of (utc, position in box_ids, boot, sequence); records of boots that were never dated
// are left out. Gives the count of records visited.
[[nodiscard]] store::Result<std::int64_t> visit_history(store::ReadingStore& store,
                                                        const HistoryQuery& query,
                                                        const HistoryVisitor& visitor);

}  // namespace logger::app
