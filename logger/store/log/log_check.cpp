#include "logger/store/log/log_check.hpp"

#include <algorithm>
#include <bit>

#include "logger/store/log/leaf_visit.hpp"
#include "logger/store/log/log_appender.hpp"
#include "logger/store/log/log_nodes.hpp"

namespace logger::store {
namespace {

using analysis::evidence::MerkleTreeBuilder;
using analysis::evidence::Sha256;
using analysis::evidence::Subtree;
using analysis::evidence::TreeHead;

std::string entries_text(std::uint64_t first, std::uint64_t end) {
  return end - first == 1 ? "entry " + std::to_string(first)
                          : "entries " + std::to_string(first) + ".." + std::to_string(end - 1);
}

std::string row_text(const EntryRow& row) {
  std::string text = name_of(row.kind);
  if (!row.box_id.empty()) {
    text += " of box " + row.box_id + ", boot " + std::to_string(row.boot) + ",";
  }
  text += " number " + std::to_string(row.number);
  return row.last_number == 0 ? text : text + ".." + std::to_string(row.last_number);
}

class LogChecker {
 public:
  LogChecker(Connection& connection, std::span<const TreeHead> heads, const std::stop_token& stop)
      : connection_(connection), heads_(heads.begin(), heads.end()), stop_(stop) {
    std::sort(heads_.begin(), heads_.end(),
              [](const TreeHead& a, const TreeHead& b) { return a.size < b.size; });
  }

  // Without the two kinds that are many.
  Result<LogReport> run_facts() {
    Result<void> done = check_fact_entries();
    for (const LoggedTable& table : logged_tables()) {
      if (done) {
        done = is_fact(table.kind) ? find_unlogged(table) : compare_counts(table);
      }
    }
    return done ? Result<LogReport>{std::move(report_)} : Failure{done.error()};
  }

  Result<LogReport> run() {
    Result<void> done = check_entries();
    for (const LoggedTable& table : logged_tables()) {
      if (done) {
        done = find_unlogged(table);
      }
    }
    if (done) {
      done = find_notes_dated_back();
    }
    if (!done) {
      return Failure{done.error()};
    }
    return std::move(report_);
  }

 private:
  Result<void> check_entries();
  void check_frontier(const LogFrontier& frontier);
  Result<void> take_leaf(const VisitedLeaf& leaf);
  Result<void> take_subtree(const Subtree& at, const Sha256& recomputed);
  void compare_heads_here();
  void report_missing_heads();
  Result<void> report_leaf(const VisitedLeaf& leaf);
  static bool is_fact(LeafKind kind) {
    return kind != LeafKind::record && kind != LeafKind::exchange;
  }
  Result<void> check_fact_entries();
  Result<void> compare_counts(const LoggedTable& table);
  Result<void> find_unlogged(const LoggedTable& table);
  Result<void> find_notes_dated_back();
  void add(LogFinding finding);

  Connection& connection_;
  std::vector<TreeHead> heads_;  // by size
  std::stop_token stop_;
  LogReport report_;
  MerkleTreeBuilder rows_tree_;                       // of the rows as they are now
  MerkleTreeBuilder blocks_tree_;                     // of the stored block hashes
  std::vector<std::pair<Subtree, Sha256>> complete_;  // subtrees of the last leaf
  std::size_t next_head_ = 0;
  bool leaf_wrong_in_block_ = false;
};

void LogChecker::add(LogFinding finding) {
  ++report_.finding_count;
  if (report_.findings.size() < LogReport::kMaxFindings) {
    report_.findings.push_back(std::move(finding));
  }
}

Result<void> LogChecker::check_entries() {
  const Result<LogFrontier> frontier = read_frontier(connection_);
  if (!frontier && frontier.error().code != ErrorCode::corrupt) {
    return Failure{frontier.error()};
  }
  std::uint64_t size = 0;
  if (frontier) {
    size = frontier.value().size;
    report_.stored = {size, MerkleTreeBuilder(size, frontier.value().peaks).root()};
  } else {
    const auto end = connection_.integer("SELECT max(first + count) FROM log_runs");
    if (!end) {
      return Failure{end.error()};
    }
    size = static_cast<std::uint64_t>(std::max(end.value().value_or(0), std::int64_t{0}));
    add({LogFault::frontier_wrong, 0, size, {}, frontier.error().context});
  }
  compare_heads_here();
  Result<void> done;
  const auto broken = visit_leaves(connection_, 0, size, [&](const VisitedLeaf& leaf) {
    done = take_leaf(leaf);
    return done.has_value();
  });
  if (!broken || !done) {
    return broken ? done : Failure{broken.error()};
  }
  report_.recomputed = {rows_tree_.size(), rows_tree_.root()};
  if (broken.value()) {
    const LogBreak& at = *broken.value();
    add({LogFault::order_broken,
         at.position,
         size,
         {},
         "entry " + std::to_string(at.position) + ": " + at.what + "; what follows up to entry " +
             std::to_string(size - 1) + " was not checked"});
  } else if (frontier) {
    check_frontier(frontier.value());
  }
  const auto beyond =
      connection_.integer("SELECT count(*) FROM log_runs WHERE first >= " + std::to_string(size));
  if (!beyond) {
    return Failure{beyond.error()};
  }
  if (beyond.value().value_or(0) > 0) {
    add({LogFault::frontier_wrong,
         size,
         size + 1,
         {},
         "entry " + std::to_string(size) + " and on: the log has rows beyond its own size"});
  }
  report_missing_heads();
  return {};
}

void LogChecker::check_frontier(const LogFrontier& frontier) {
  if (leaf_wrong_in_block_) {
    return;  // told already, and it is why the rows give other peaks
  }
  std::vector<Sha256> expected = blocks_tree_.peaks();
  const std::vector<Sha256>& of_rows = rows_tree_.peaks();
  const auto tail = static_cast<std::ptrdiff_t>(std::popcount(frontier.size % kBlockLeaves));
  expected.insert(expected.end(), of_rows.end() - tail, of_rows.end());
  std::uint64_t begin = 0;
  for (std::size_t peak = 0; peak < expected.size(); ++peak) {
    const std::uint64_t end = begin + std::bit_floor(frontier.size - begin);
    // Where only the hash of a block was changed, that was told and the rows still give the peak.
    if (frontier.peaks[peak] != expected[peak] && frontier.peaks[peak] != of_rows[peak]) {
      add({LogFault::frontier_wrong,
           begin,
           end,
           {},
           entries_text(begin, end) + ": re-ordered or exchanged, or the log's root was changed"});
    }
    begin = end;
  }
}

Result<void> LogChecker::take_leaf(const VisitedLeaf& leaf) {
  if (leaf.position % kBlockLeaves == 0 && stop_.stop_requested()) {
    return failure(ErrorCode::unavailable,
                   "store " + connection_.path() + ": the check was stopped");
  }
  if (!leaf.tag_matches) {
    leaf_wrong_in_block_ = true;
    if (Result<void> told = report_leaf(leaf); !told) {
      return told;
    }
  }
  complete_.clear();
  // A row that is gone has no hash; any other value shows in every root over it.
  rows_tree_.add_leaf_hash(leaf.hash.value_or(Sha256{}),
                           [this](const Subtree& at, const Sha256& hash) {
                             if (at.level == kStoredLevels) {
                               complete_.emplace_back(at, hash);
                             }
                           });
  Result<void> done;
  if (!complete_.empty()) {
    const auto [block, hash] = complete_.front();
    done = take_subtree(block, hash);
    leaf_wrong_in_block_ = false;
  }
  compare_heads_here();
  return done;
}

// Compares a block with its stored hash, and what it completes above with theirs.
Result<void> LogChecker::take_subtree(const Subtree& block, const Sha256& recomputed) {
  const auto stored = stored_node(connection_, block);
  if (!stored) {
    return Failure{stored.error()};
  }
  const std::uint64_t first = block.index * kBlockLeaves;
  if (!stored.value()) {
    add({LogFault::node_wrong,
         first,
         first + kBlockLeaves,
         {},
         entries_text(first, first + kBlockLeaves) + ": the hash of their block is missing"});
  } else if (*stored.value() != recomputed && !leaf_wrong_in_block_) {
    add({LogFault::block_wrong,
         first,
         first + kBlockLeaves,
         {},
         entries_text(first, first + kBlockLeaves) +
             ": re-ordered or exchanged, or the hash of their block was changed"});
  }
  // On from what was stored, so that one wrong block is told once.
  complete_.clear();
  blocks_tree_.add_leaf_hash(stored.value().value_or(recomputed),
                             [this](const Subtree& at, const Sha256& hash) {
                               if (at.level % kStoredLevels == 0) {
                                 complete_.emplace_back(at, hash);
                               }
                             });
  for (const auto& [at, hash] : complete_) {
    const Subtree above{at.level + kStoredLevels, at.index};
    const auto node = stored_node(connection_, above);
    if (!node) {
      return Failure{node.error()};
    }
    if (node.value() != hash) {
      const std::uint64_t begin = above.index << above.level;
      const std::uint64_t end = (above.index + 1) << above.level;
      add({LogFault::node_wrong,
           begin,
           end,
           {},
           entries_text(begin, end) + ": the stored hash over them does not fit their blocks"});
    }
  }
  return {};
}

void LogChecker::compare_heads_here() {
  for (; next_head_ < heads_.size() && heads_[next_head_].size == rows_tree_.size(); ++next_head_) {
    const TreeHead& head = heads_[next_head_];
    if (rows_tree_.root() == head.root) {
      report_.proved_entries = head.size;
      continue;
    }
    add({LogFault::head_differs,
         report_.proved_entries,
         head.size,
         {},
         "the checkpoint of " + std::to_string(head.size) +
             " entries states another log: something in " +
             entries_text(report_.proved_entries, std::max(head.size, report_.proved_entries + 1)) +
             " was changed after it"});
  }
}

void LogChecker::report_missing_heads() {
  for (; next_head_ < heads_.size(); ++next_head_) {
    const TreeHead& head = heads_[next_head_];
    add({LogFault::head_differs,
         rows_tree_.size(),
         head.size,
         {},
         "the checkpoint of " + std::to_string(head.size) + " entries is of a longer log: " +
             entries_text(rows_tree_.size(), head.size) + " can't be found"});
  }
}

Result<void> LogChecker::report_leaf(const VisitedLeaf& leaf) {
  const Result<EntryRow> row = entry_row_from(connection_, leaf.row);
  if (!row) {
    return Failure{row.error()};
  }
  add({leaf.row_found ? LogFault::leaf_changed : LogFault::row_missing, leaf.position,
       leaf.position + 1, row.value(),
       "entry " + std::to_string(leaf.position) + ", " + row_text(row.value()) +
           (leaf.row_found ? ": changed since it was logged" : ": deleted since it was logged")});
  return {};
}

Result<void> LogChecker::check_fact_entries() {
  const auto runs = read_rows(
      connection_, "SELECT first, first + count FROM log_runs WHERE kind NOT IN (?, ?)",
      [](Statement& row) {
        return std::pair{static_cast<std::uint64_t>(row.integer(0)),
                         static_cast<std::uint64_t>(row.integer(1))};
      },
      static_cast<std::int64_t>(LeafKind::record), static_cast<std::int64_t>(LeafKind::exchange));
  if (!runs) {
    return Failure{runs.error()};
  }
  Result<void> done;
  for (const auto& [begin, end] : runs.value()) {
    const auto broken = visit_leaves(connection_, begin, end, [&](const VisitedLeaf& leaf) {
      done = leaf.tag_matches ? Result<void>{} : report_leaf(leaf);
      return done.has_value();
    });
    if (!broken || !done) {
      return broken ? done : Failure{broken.error()};
    }
    if (broken.value()) {
      add({LogFault::order_broken,
           broken.value()->position,
           end,
           {},
           "entry " + std::to_string(broken.value()->position) + ": " + broken.value()->what});
    }
  }
  return done;
}

Result<void> LogChecker::compare_counts(const LoggedTable& table) {
  const auto count_of = [this](const std::string& sql) { return connection_.integer(sql); };
  const auto rows = count_of(std::string("SELECT count(*) FROM ") + table.table);
  const auto entries = count_of("SELECT ifnull(sum(count), 0) FROM log_runs WHERE kind = " +
                                std::to_string(static_cast<int>(table.kind)));
  if (!rows || !entries) {
    return Failure{!rows ? rows.error() : entries.error()};
  }
  if (rows.value() != entries.value()) {
    add({LogFault::row_not_logged,
         0,
         0,
         {},
         std::string("table ") + table.table + " has " + std::to_string(rows.value().value_or(0)) +
             " rows, the log has entries of " + std::to_string(entries.value().value_or(0))});
  }
  return {};
}

// Rows that no run of the log covers.
Result<void> LogChecker::find_unlogged(const LoggedTable& table) {
  const std::string kind = std::to_string(static_cast<int>(table.kind));
  const std::string of_kind = " FROM log_runs l WHERE l.kind = " + kind;
  Result<Statement> rows = connection_.prepare(
      select_logged(table) + " WHERE " + table.is_of_kind +
      " AND ifnull((SELECT l.number + l.count - 1" + of_kind +
      " AND l.box = row_box AND l.boot = row_boot AND l.number <= row_number AND "
      "l.last_number = row_last_number ORDER BY l.number DESC LIMIT 1) < row_number, 1)");
  if (!rows) {
    return Failure{rows.error()};
  }
  while (true) {
    const Result<bool> row = rows.value().step();
    if (!row) {
      return Failure{row.error()};
    }
    if (!row.value()) {
      return {};
    }
    const RowName name = logged_row_from(table, rows.value()).name;
    const Result<EntryRow> named = entry_row_from(connection_, name);
    if (!named) {
      return Failure{named.error()};
    }
    add({LogFault::row_not_logged, report_.stored.size, report_.stored.size, named.value(),
         row_text(named.value()) + ": stands in no entry, it was put in behind the log"});
  }
}

Result<void> LogChecker::find_notes_dated_back() {
  auto ids = read_rows(
      connection_,
      "SELECT id FROM (SELECT id, noted_utc_us, lag(noted_utc_us) OVER (ORDER BY id) AS before "
      "FROM notes) WHERE noted_utc_us < before - 60000000 ORDER BY id LIMIT ?",
      [](Statement& row) { return row.integer(0); },
      static_cast<std::int64_t>(LogReport::kMaxFindings));
  if (!ids) {
    return Failure{ids.error()};
  }
  report_.notes_dated_back = std::move(ids).value();
  return {};
}

}  // namespace

Result<LogReport> check_log(Connection& connection, std::span<const TreeHead> earlier_heads,
                            const std::stop_token& stop) {
  return LogChecker(connection, earlier_heads, stop).run();
}

Result<LogReport> check_logged_facts(Connection& connection) {
  return LogChecker(connection, {}, {}).run_facts();
}

Result<EntryRow> entry_row_from(Connection& connection, const RowName& name) {
  EntryRow row{name.kind, {}, name.boot, name.number, name.last_number};
  if (name.box != 0) {
    const auto id = read_row(
        connection, "SELECT box_id FROM boxes WHERE box = ?",
        [](Statement& r) { return r.text(0); }, name.box);
    if (!id) {
      return Failure{id.error()};
    }
    row.box_id = id.value().value_or("?");
  }
  return row;
}

}  // namespace logger::store
