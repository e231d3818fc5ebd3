// Reads the evidence log of a store: what its root is, proofs about it, and whether the rows of the
// store are still those that were logged. docs/evidence-log.md says what that proves against whom.
// One EvidenceLog is used by one thread, through a read-only connection of its own, while others
// read and write. Errors: those of opening a store read-only; corrupt when a proof is asked for
// that the file no longer holds.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <stop_token>
#include <string>

#include "logger/store/log/extract_writer.hpp"
#include "logger/store/log/log_report.hpp"
#include "logger/store/sqlite_handle.hpp"

namespace logger::store {

struct EntryProof {
  analysis::evidence::Sha256 leaf_hash;
  analysis::evidence::HashPath path;
};

class EvidenceLog {
 public:
  static Result<EvidenceLog> open(const std::string& path);

  // From begin to end everything is of one moment, while others write (store_snapshot.hpp joins it
  // with a store). Gives the head then.
  [[nodiscard]] Result<analysis::evidence::TreeHead> begin_snapshot();
  void end_snapshot();

  // Writes the extract of the first `request.size` entries, in memory that does not grow with the
  // log. invalid_input when the log is shorter; corrupt when rows are no longer those that were
  // logged (`check` then tells which); whatever the sink gives.
  [[nodiscard]] Result<ExtractSummary> extract(const ExtractRequest& request,
                                               const ExtractSink& sink);

  // Entries and root as of the last commit. O(log n).
  [[nodiscard]] Result<analysis::evidence::TreeHead> head();
  // The entry of a row; nullopt when it is in none. O(log n).
  [[nodiscard]] Result<std::optional<std::uint64_t>> find(const EntryRow& row);
  // That entry `position` is in the log of the first `size` entries; the leaf hash is of the row as
  // it is now. invalid_input when there is no such entry. Reads at most one block of rows.
  [[nodiscard]] Result<EntryProof> prove_entry(std::uint64_t position, std::uint64_t size);
  // That the first `old_size` entries are the beginning of the first `new_size`.
  [[nodiscard]] Result<analysis::evidence::HashPath> prove_growth(std::uint64_t old_size,
                                                                  std::uint64_t new_size);
  // The root over the first `size` entries, from the stored hashes.
  [[nodiscard]] Result<analysis::evidence::TreeHead> head_at(std::uint64_t size);

  // The part of `check` that takes no time: every row but records and clock exchanges against its
  // entry, rows of any kind that were never logged. Only the findings are filled.
  [[nodiscard]] Result<LogReport> check_facts();

  // Makes every leaf anew from its row and compares tags, blocks, nodes, frontier and the heads of
  // earlier checkpoints; looks for rows that were never logged. One pass over the log and one over
  // the tables, in bounded memory. unavailable when `stop` was requested before the end.
  [[nodiscard]] Result<LogReport> check(
      std::span<const analysis::evidence::TreeHead> earlier_heads = {},
      const std::stop_token& stop = {});

 private:
  explicit EvidenceLog(Connection connection) : connection_(std::move(connection)) {}

  Connection connection_;
};

}  // namespace logger::store
