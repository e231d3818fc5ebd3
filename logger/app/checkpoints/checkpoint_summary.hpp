// How far a job's log is signed and stamped, for status, inspect and the command that signs.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "logger/app/checkpoints/checkpoint_folder.hpp"

namespace logger::app {

struct AnchorLine {
  std::uint64_t entries = 0;  // the checkpoint's size
  UtcMicros stamped_at;
  std::string authority;
  bool verified = false;
};

struct CheckpointSummary {
  std::uint64_t log_entries = 0;
  std::size_t checkpoints = 0;
  std::uint64_t newest_entries = 0;           // of the newest checkpoint; 0 = none
  std::optional<UtcMicros> newest_issued_at;  // of the newest checkpoint
  std::size_t anchored = 0;
  std::size_t queued = 0;  // without a token
  std::optional<AnchorLine> newest_anchor;
  std::vector<std::string> faults;    // files that are no checkpoints or no tokens, one line each
  std::string stamps_unread_because;  // empty = all were read
  // Why `dwellog run` signs none by itself; empty when it does.
  std::string not_signed_because;

  // Entries above the newest checkpoint.
  [[nodiscard]] std::uint64_t entries_above() const {
    return log_entries > newest_entries ? log_entries - newest_entries : 0;
  }
};

[[nodiscard]] CheckpointSummary summary_from(const KeptCheckpoints& kept,
                                             std::uint64_t log_entries);

// Reads the folder and the log's head. Errors: of either.
[[nodiscard]] store::Result<CheckpointSummary> checkpoint_summary(const OpenedJob& opened);

// Lines for people, the first words of each naming what it is of.
[[nodiscard]] std::vector<std::string> lines_from(const CheckpointSummary& summary);

}  // namespace logger::app
