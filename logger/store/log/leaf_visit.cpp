#include "logger/store/log/leaf_visit.hpp"

#include <limits>
#include <string_view>
#include <vector>

#include "analysis/evidence/merkle_tree.hpp"
#include "logger/store/log/log_appender.hpp"

namespace logger::store {
namespace {

struct Run {
  std::uint64_t first = 0;
  std::int64_t rows = 0;
  std::int64_t kind = 0;
  RowName name;  // of its first row
  std::string tags;
};

Run run_from_row(Statement& row) {
  Run run{
      static_cast<std::uint64_t>(row.integer(0)), row.integer(1), row.integer(2), {}, row.blob(7)};
  run.name = {static_cast<LeafKind>(run.kind), row.integer(3), row.integer(4), row.integer(5),
              row.integer(6)};
  return run;
}

// Why the run can't be read, or nothing.
std::optional<std::string> unfit_run(const Run& run) {
  if (logged_table(run.kind) == nullptr) {
    return "names kind " + std::to_string(run.kind) + ", which this program does not know";
  }
  if (run.rows < 1 || run.rows > kMaxRunRows ||
      run.name.number > std::numeric_limits<std::int64_t>::max() - kMaxRunRows) {
    return "names " + std::to_string(run.rows) + " rows, expected 1.." +
           std::to_string(kMaxRunRows);
  }
  if (run.tags.size() != kTagBytes * static_cast<std::size_t>(run.rows)) {
    return "has " + std::to_string(run.tags.size()) + " bytes of tags for " +
           std::to_string(run.rows) + " rows";
  }
  return std::nullopt;
}

// The leaves of one run, rows that are missing included.
Result<std::vector<VisitedLeaf>> leaves_of_run(Connection& connection, const Run& run) {
  std::vector<VisitedLeaf> leaves(static_cast<std::size_t>(run.rows));
  for (std::size_t i = 0; i < leaves.size(); ++i) {
    leaves[i].position = run.first + i;
    leaves[i].row = run.name;
    leaves[i].row.number += static_cast<std::int64_t>(i);
  }
  const LoggedTable& table = *logged_table(run.kind);
  const Result<Statement*> kept = connection.kept(
      select_logged(table) +
      " WHERE row_box = ? AND row_boot = ? AND row_number BETWEEN ? AND ? AND row_last_number = ?");
  if (!kept) {
    return Failure{kept.error()};
  }
  const Query rows{*kept.value()};
  rows->bind(run.name.box)
      .bind(run.name.boot)
      .bind(run.name.number)
      .bind(run.name.number + run.rows - 1)
      .bind(run.name.last_number);
  while (true) {
    const Result<bool> row = rows->step();
    if (!row) {
      return Failure{row.error()};
    }
    if (!row.value()) {
      return leaves;
    }
    const LoggedRow logged = logged_row_from(table, *rows);
    const auto index = static_cast<std::size_t>(logged.name.number - run.name.number);
    VisitedLeaf& leaf = leaves[index];
    leaf.row_found = true;
    if (!logged.leaf.empty()) {
      leaf.hash = analysis::evidence::leaf_hash_from_bytes(logged.leaf);
      leaf.tag_matches = bytes_of(*leaf.hash).substr(0, kTagBytes) ==
                         std::string_view(run.tags).substr(kTagBytes * index, kTagBytes);
    }
  }
}

}  // namespace

Result<std::optional<LogBreak>> visit_leaves(
    Connection& connection, std::uint64_t begin, std::uint64_t end,
    const std::function<bool(const VisitedLeaf&)>& visitor) {
  Result<Statement> runs = connection.prepare(
      "SELECT first, count, kind, box, boot, number, last_number, tags FROM log_runs WHERE first "
      ">= "
      "ifnull((SELECT max(first) FROM log_runs WHERE first <= ?1), 0) AND first < ?2 "
      "ORDER BY first");
  if (!runs) {
    return Failure{runs.error()};
  }
  runs.value().bind(static_cast<std::int64_t>(begin)).bind(static_cast<std::int64_t>(end));
  std::uint64_t next = begin;
  while (next < end) {
    const Result<bool> row = runs.value().step();
    if (!row) {
      return Failure{row.error()};
    }
    if (!row.value()) {
      return std::optional{LogBreak{next, "the log ends before it"}};
    }
    const Run run = run_from_row(runs.value());
    if (const std::optional<std::string> unfit = unfit_run(run)) {
      return std::optional{LogBreak{next, "the log's row for it " + *unfit}};
    }
    const bool starts = next == begin ? run.first <= next : run.first == next;
    if (!starts || run.first + static_cast<std::uint64_t>(run.rows) <= next) {
      return std::optional{
          LogBreak{next, "the log's next row is for entry " + std::to_string(run.first)}};
    }
    const auto leaves = leaves_of_run(connection, run);
    if (!leaves) {
      return Failure{leaves.error()};
    }
    for (const VisitedLeaf& leaf : leaves.value()) {
      if (leaf.position < next || leaf.position >= end) {
        continue;
      }
      if (!visitor(leaf)) {
        return std::optional<LogBreak>{};
      }
      ++next;
    }
  }
  return std::optional<LogBreak>{};
}

}  // namespace logger::store
