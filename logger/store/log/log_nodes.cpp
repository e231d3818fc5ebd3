#include "logger/store/log/log_nodes.hpp"

#include <algorithm>
#include <cstring>

#include "logger/store/log/leaf_visit.hpp"
#include "logger/store/log/log_appender.hpp"

namespace logger::store {

using analysis::evidence::Fault;
using analysis::evidence::MerkleTreeBuilder;
using analysis::evidence::Sha256;
using analysis::evidence::Subtree;

Result<std::optional<Sha256>> stored_node(Connection& connection, const Subtree& at) {
  const auto bytes = read_row(
      connection, "SELECT hash FROM log_nodes WHERE level = ? AND position = ?",
      [](Statement& row) { return row.blob(0); }, std::int64_t{at.level},
      static_cast<std::int64_t>(at.index));
  if (!bytes) {
    return Failure{bytes.error()};
  }
  std::optional<Sha256> hash;
  if (bytes.value() && bytes.value()->size() == sizeof(Sha256::bytes)) {
    hash.emplace();
    std::memcpy(hash->bytes.data(), bytes.value()->data(), hash->bytes.size());
  }
  return hash;
}

analysis::base::Result<Sha256, Fault> LogNodes::node(const Subtree& at) {
  const Result<Sha256> hash = node_or_error(at);
  if (hash) {
    return hash.value();
  }
  error_ = hash.error();
  return analysis::base::Failure{Fault{hash.error().context}};
}

Result<Sha256> LogNodes::node_or_error(const Subtree& at) {
  // Up from the stored level at or below it.
  const unsigned above = at.level % kStoredLevels;
  const unsigned level = at.level - above;
  MerkleTreeBuilder tree;
  for (std::uint64_t i = at.index << above; i < (at.index + 1) << above; ++i) {
    if (level == 0) {
      const Result<Sha256> hash = leaf(i);
      if (!hash) {
        return hash;
      }
      tree.add_leaf_hash(hash.value());
      continue;
    }
    const auto hash = stored_node(*connection_, {level, i});
    if (!hash) {
      return Failure{hash.error()};
    }
    if (!hash.value()) {
      return failure(ErrorCode::corrupt,
                     "store " + connection_->path() + ": the evidence log's hash of level " +
                         std::to_string(level) + ", position " + std::to_string(i) + " is missing");
    }
    tree.add_leaf_hash(*hash.value());
  }
  return tree.root();
}

Result<Sha256> LogNodes::leaf(std::uint64_t position) {
  const std::uint64_t block = position / kBlockLeaves;
  if (block_ != block) {
    if (const Result<void> read = read_block(block); !read) {
      return Failure{read.error()};
    }
  }
  const auto found = leaves_.find(position);
  if (found == leaves_.end()) {
    return failure(ErrorCode::corrupt, "store " + connection_->path() + ": entry " +
                                           std::to_string(position) +
                                           " of the evidence log has no row any more");
  }
  return found->second;
}

Result<void> LogNodes::read_block(std::uint64_t block) {
  leaves_.clear();
  const Result<LogFrontier> frontier = read_frontier(*connection_);
  if (!frontier) {
    return Failure{frontier.error()};
  }
  const std::uint64_t end = std::min((block + 1) * kBlockLeaves, frontier.value().size);
  const auto broken =
      visit_leaves(*connection_, block * kBlockLeaves, end, [&](const VisitedLeaf& leaf) {
        if (leaf.hash) {
          leaves_.emplace(leaf.position, *leaf.hash);
        }
        return true;
      });
  if (!broken) {
    return Failure{broken.error()};
  }
  block_ = block;
  return {};
}

}  // namespace logger::store
