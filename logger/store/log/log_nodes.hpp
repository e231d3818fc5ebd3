// The hashes of complete subtrees of the evidence log, from what the file stores and, below a
// block, from the rows.
#pragma once

#include <map>
#include <optional>

#include "analysis/evidence/merkle_proof.hpp"
#include "logger/store/sqlite_handle.hpp"

namespace logger::store {

// nullopt when it is not stored. REQUIRES: at.level is a multiple of kStoredLevels, not 0.
[[nodiscard]] Result<std::optional<analysis::evidence::Sha256>> stored_node(
    Connection& connection, const analysis::evidence::Subtree& at);

// A NodeSource over one moment of a file; keeps the leaf hashes of the block it read last.
class LogNodes {
 public:
  explicit LogNodes(Connection& connection) : connection_(&connection) {}

  // The fault's text is that of error() when the file was the reason.
  [[nodiscard]] analysis::base::Result<analysis::evidence::Sha256, analysis::evidence::Fault> node(
      const analysis::evidence::Subtree& at);
  [[nodiscard]] Result<analysis::evidence::Sha256> node_or_error(
      const analysis::evidence::Subtree& at);
  // Of one entry. corrupt when its row is missing.
  [[nodiscard]] Result<analysis::evidence::Sha256> leaf(std::uint64_t position);
  // Why node() gave a fault.
  [[nodiscard]] const std::optional<Error>& error() const { return error_; }

 private:
  Result<void> read_block(std::uint64_t block);

  Connection* connection_;
  std::optional<std::uint64_t> block_;  // whose leaves are held
  std::map<std::uint64_t, analysis::evidence::Sha256> leaves_;
  std::optional<Error> error_;
};

}  // namespace logger::store
