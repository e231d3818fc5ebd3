// Writes the evidence log: rows enter it in the order in which they are committed, in the same
// transaction. State is O(log n) whatever the length of the log. Thread contract: as Connection.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/evidence/merkle_tree.hpp"
#include "logger/store/log/logged_tables.hpp"

namespace logger::store {

inline constexpr std::size_t kTagBytes = 8;  // of a leaf hash, kept to locate an edited row
// Of one row of log_runs: two full ones fit into a page of 1024 bytes.
inline constexpr std::int64_t kMaxRunRows = 56;
inline constexpr unsigned kStoredLevels = 8;  // nodes of every 8th level are stored
inline constexpr std::uint64_t kBlockLeaves = 1U << kStoredLevels;

[[nodiscard]] inline std::string_view bytes_of(const analysis::evidence::Sha256& hash) {
  return {reinterpret_cast<const char*>(hash.bytes.data()), hash.bytes.size()};
}

// What log_frontier holds: how long the log is and the roots of its complete subtrees.
struct LogFrontier {
  std::uint64_t size = 0;
  std::vector<analysis::evidence::Sha256> peaks;
};

// corrupt when the row is missing or does not fit together.
[[nodiscard]] Result<LogFrontier> read_frontier(Connection& connection);

class LogAppender {
 public:
  // REQUIRES: a write transaction that outlives this.
  static Result<LogAppender> open(Connection& connection);
  // Adds the row as the next leaf; the row itself is written by the caller.
  Result<void> add(const RowName& row, std::string_view leaf);
  // Writes what add() has not written yet. Without it the transaction must be rolled back.
  Result<void> finish();

 private:
  LogAppender(Connection& connection, LogFrontier frontier)
      : connection_(&connection), tree_(frontier.size, std::move(frontier.peaks)) {}
  [[nodiscard]] bool goes_on(const RowName& row) const;
  Result<void> write_run();

  struct Node {
    analysis::evidence::Subtree at;
    analysis::evidence::Sha256 hash;
  };

  Connection* connection_;
  analysis::evidence::MerkleTreeBuilder tree_;
  std::vector<Node> nodes_;  // complete, not written yet
  RowName run_;              // first row of the run that is not written yet
  std::int64_t run_rows_ = 0;
  std::string tags_;
};

}  // namespace logger::store
