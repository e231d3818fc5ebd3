#include "logger/store/log/log_appender.hpp"

#include <bit>
#include <cstring>

namespace logger::store {

using analysis::evidence::MerkleTreeBuilder;
using analysis::evidence::Sha256;
using analysis::evidence::Subtree;

Result<LogFrontier> read_frontier(Connection& connection) {
  const auto row = read_row(connection, "SELECT size, peaks FROM log_frontier", [](Statement& r) {
    return std::pair{r.integer(0), r.blob(1)};
  });
  if (!row) {
    return Failure{row.error()};
  }
  const auto [size, bytes] = row.value().value_or(std::pair{std::int64_t{-1}, std::string{}});
  const auto peaks = static_cast<std::size_t>(std::popcount(static_cast<std::uint64_t>(size)));
  if (size < 0 || bytes.size() != peaks * sizeof(Sha256::bytes)) {
    return failure(ErrorCode::corrupt, "store " + connection.path() +
                                           ": the frontier of its evidence log is missing "
                                           "or does not fit its size");
  }
  LogFrontier frontier{static_cast<std::uint64_t>(size), std::vector<Sha256>(peaks)};
  for (std::size_t i = 0; i < peaks; ++i) {
    std::memcpy(frontier.peaks[i].bytes.data(), bytes.data() + i * sizeof(Sha256::bytes),
                sizeof(Sha256::bytes));
  }
  return frontier;
}

Result<LogAppender> LogAppender::open(Connection& connection) {
  Result<LogFrontier> frontier = read_frontier(connection);
  if (!frontier) {
    return Failure{frontier.error()};
  }
  return LogAppender{connection, std::move(frontier).value()};
}

bool LogAppender::goes_on(const RowName& row) const {
  RowName next = run_;
  next.number += run_rows_;
  return run_rows_ > 0 && run_rows_ < kMaxRunRows && row == next;
}

Result<void> LogAppender::add(const RowName& row, std::string_view leaf) {
  if (!goes_on(row)) {
    if (Result<void> written = write_run(); !written) {
      return written;
    }
    run_ = row;
  }
  const Sha256 hash = analysis::evidence::leaf_hash_from_bytes(leaf);
  tree_.add_leaf_hash(hash, [this](const Subtree& at, const Sha256& root) {
    if (at.level % kStoredLevels == 0) {
      nodes_.push_back({at, root});
    }
  });
  tags_ += bytes_of(hash).substr(0, kTagBytes);
  ++run_rows_;
  return {};
}

Result<void> LogAppender::write_run() {
  if (run_rows_ == 0) {
    return {};
  }
  const auto first = static_cast<std::int64_t>(tree_.size()) - run_rows_;
  Result<void> done = write_row(*connection_,
                                "INSERT INTO log_runs (first, count, kind, box, boot, number, "
                                "last_number, tags) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                                first, run_rows_, static_cast<std::int64_t>(run_.kind), run_.box,
                                run_.boot, run_.number, run_.last_number, Blob{tags_});
  for (const Node& node : nodes_) {
    if (done) {
      done = write_row(*connection_,
                       "INSERT INTO log_nodes (level, position, hash) "
                       "VALUES (?, ?, ?)",
                       std::int64_t{node.at.level}, static_cast<std::int64_t>(node.at.index),
                       Blob{bytes_of(node.hash)});
    }
  }
  run_rows_ = 0;
  tags_.clear();
  nodes_.clear();
  return done;
}

Result<void> LogAppender::finish() {
  if (Result<void> written = write_run(); !written) {
    return written;
  }
  std::string peaks;
  for (const Sha256& peak : tree_.peaks()) {
    peaks += bytes_of(peak);
  }
  return write_row(*connection_, "UPDATE log_frontier SET size = ?, peaks = ?",
                   static_cast<std::int64_t>(tree_.size()), Blob{peaks});
}

}  // namespace logger::store
