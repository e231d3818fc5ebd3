#include "logger/store/evidence_log.hpp"

#include "logger/store/log/leaf_visit.hpp"
#include "logger/store/log/log_appender.hpp"
#include "logger/store/log/log_check.hpp"
#include "logger/store/log/log_nodes.hpp"
#include "logger/store/store_file.hpp"

namespace logger::store {
namespace {

using analysis::evidence::Fault;
using analysis::evidence::HashPath;
using analysis::evidence::MerkleTreeBuilder;
using analysis::evidence::NodeSource;
using analysis::evidence::Sha256;
using analysis::evidence::Subtree;
using analysis::evidence::TreeHead;

// Runs `work` on one moment of the file: that of the snapshot where one is held.
template <class Work>
auto at_one_moment(Connection& connection, Work work) -> decltype(work()) {
  if (connection.in_transaction()) {
    return work();
  }
  if (const Result<void> begun = connection.begin_reading(); !begun) {
    return Failure{begun.error()};
  }
  auto result = work();
  connection.end_reading();
  return result;
}

// What `make` gives over the nodes of the file: the file's own error where that was the reason, the
// asker's otherwise. invalid_input too when the log is shorter than `size`.
template <class T, class Make>
Result<T> from_nodes(Connection& connection, std::uint64_t size, Make make) {
  const Result<LogFrontier> frontier = read_frontier(connection);
  if (!frontier) {
    return Failure{frontier.error()};
  }
  if (size > frontier.value().size) {
    return failure(ErrorCode::invalid_input,
                   "store " + connection.path() + ": its evidence log has " +
                       std::to_string(frontier.value().size) + " entries, " + std::to_string(size) +
                       " were asked for");
  }
  LogNodes nodes{connection};
  const analysis::base::Result<T, Fault> made =
      make([&nodes](const Subtree& at) { return nodes.node(at); });
  if (!made) {
    return nodes.error() ? Failure{*nodes.error()}
                         : failure(ErrorCode::invalid_input,
                                   "store " + connection.path() + ": " + made.error().text);
  }
  return made.value();
}

}  // namespace

Result<EvidenceLog> EvidenceLog::open(const std::string& path) {
  Result<Connection> connection = open_store_file(path, {.read_only = true});
  if (!connection) {
    return Failure{connection.error()};
  }
  return EvidenceLog{std::move(connection).value()};
}

Result<TreeHead> EvidenceLog::begin_snapshot() {
  if (const Result<void> begun = connection_.begin_reading(); !begun) {
    return Failure{begun.error()};
  }
  Result<TreeHead> now = head();
  if (!now) {
    connection_.end_reading();
  }
  return now;
}

void EvidenceLog::end_snapshot() { connection_.end_reading(); }

Result<ExtractSummary> EvidenceLog::extract(const ExtractRequest& request,
                                            const ExtractSink& sink) {
  return at_one_moment(connection_, [&] { return write_log_extract(connection_, request, sink); });
}

Result<TreeHead> EvidenceLog::head() {
  Result<LogFrontier> frontier = read_frontier(connection_);
  if (!frontier) {
    return Failure{frontier.error()};
  }
  const std::uint64_t size = frontier.value().size;
  return TreeHead{size, MerkleTreeBuilder(size, std::move(frontier.value().peaks)).root()};
}

Result<TreeHead> EvidenceLog::head_at(std::uint64_t size) {
  const Result<Sha256> root = at_one_moment(connection_, [&] {
    return from_nodes<Sha256>(connection_, size, [&](const NodeSource& nodes) {
      return analysis::evidence::root_from_nodes(size, nodes);
    });
  });
  return root ? Result<TreeHead>{TreeHead{size, root.value()}} : Failure{root.error()};
}

Result<std::optional<std::uint64_t>> EvidenceLog::find(const EntryRow& row) {
  const auto first = read_row(
      connection_,
      "SELECT l.first + ?4 - l.number, l.number + l.count FROM log_runs l WHERE l.kind = ?1 "
      "AND l.box = CASE WHEN ?2 = '' THEN 0 ELSE (SELECT box FROM boxes WHERE box_id = ?2) END "
      "AND l.boot = ?3 AND l.number <= ?4 AND l.last_number = ?5 ORDER BY l.number DESC LIMIT 1",
      [](Statement& r) {
        return std::pair{r.integer(0), r.integer(1)};
      },
      static_cast<std::int64_t>(row.kind), row.box_id, row.boot, row.number, row.last_number);
  if (!first) {
    return Failure{first.error()};
  }
  if (!first.value() || first.value()->second <= row.number) {
    return std::optional<std::uint64_t>{};
  }
  return std::optional{static_cast<std::uint64_t>(first.value()->first)};
}

Result<EntryProof> EvidenceLog::prove_entry(std::uint64_t position, std::uint64_t size) {
  return at_one_moment(connection_, [&]() -> Result<EntryProof> {
    const Result<HashPath> path =
        from_nodes<HashPath>(connection_, size, [&](const NodeSource& nodes) {
          return analysis::evidence::inclusion_path(position, size, nodes);
        });
    if (!path) {
      return Failure{path.error()};
    }
    const Result<Sha256> leaf = LogNodes{connection_}.leaf(position);
    if (!leaf) {
      return Failure{leaf.error()};
    }
    return EntryProof{leaf.value(), path.value()};
  });
}

Result<HashPath> EvidenceLog::prove_growth(std::uint64_t old_size, std::uint64_t new_size) {
  return at_one_moment(connection_, [&] {
    return from_nodes<HashPath>(connection_, new_size, [&](const NodeSource& nodes) {
      return analysis::evidence::consistency_path(old_size, new_size, nodes);
    });
  });
}

Result<LogReport> EvidenceLog::check_facts() {
  return at_one_moment(connection_, [&] { return check_logged_facts(connection_); });
}

Result<LogReport> EvidenceLog::check(std::span<const TreeHead> earlier_heads,
                                     const std::stop_token& stop) {
  return at_one_moment(connection_, [&] { return check_log(connection_, earlier_heads, stop); });
}

}  // namespace logger::store
