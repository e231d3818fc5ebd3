// What a check of the evidence log found.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "analysis/evidence/merkle_proof.hpp"
#include "logger/store/log/leaf_encoding.hpp"

namespace logger::store {

// A row as people and other programs name it. What a kind does not have is empty or 0.
struct EntryRow {
  LeafKind kind = LeafKind::mark;
  std::string box_id;
  std::int64_t boot = 0;
  std::int64_t number = 0;       // sequence, ticks in ms, first sequence of a gap, or id
  std::int64_t last_number = 0;  // last sequence of a gap
  bool operator==(const EntryRow&) const = default;
};

enum class LogFault {
  leaf_changed,    // a row is not what it was when it was logged
  row_missing,     // a row that was logged is not in its table
  row_not_logged,  // a row of a table stands in no entry
  order_broken,    // an entry does not follow the one before; what is after it was not checked
  block_wrong,     // the entries of a block are not in the order, or not those, that were logged
  node_wrong,      // a stored hash over several blocks does not fit the blocks
  frontier_wrong,  // the stored peaks do not fit the entries
  head_differs,    // the log is not the one that an earlier checkpoint states
};

struct LogFinding {
  LogFault fault = LogFault::leaf_changed;
  std::uint64_t first_entry = 0;  // what is concerned, first_entry..end_entry - 1, from 0
  std::uint64_t end_entry = 0;
  EntryRow row;      // of leaf_changed, row_missing and row_not_logged
  std::string text;  // one line for people
};

struct LogReport {
  static constexpr std::size_t kMaxFindings = 100;

  analysis::evidence::TreeHead stored;      // as the log says of itself
  analysis::evidence::TreeHead recomputed;  // from the rows as they are now
  std::vector<LogFinding> findings;         // the first kMaxFindings
  std::uint64_t finding_count = 0;
  // Entries below the largest earlier head that the rows still give. What is above stands on the
  // word of the holder of the signing key.
  std::uint64_t proved_entries = 0;
  // Notes written down, by their own time, over a minute before the note logged before them (two
  // that are written at once may change places): the clock was set back or a time is wrong. No
  // fault of the log; the first kMaxFindings ids.
  std::vector<std::int64_t> notes_dated_back;

  [[nodiscard]] bool sound() const { return finding_count == 0; }
};

}  // namespace logger::store
