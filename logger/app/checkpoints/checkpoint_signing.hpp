// Signs the present head of a job's evidence log into JOBDIR/checkpoints, unless the log no longer
// continues what was signed before. A checkpoint changes nothing in the log. Any thread; reads the
// store through a connection of its own.
#pragma once

#include <string>

#include "analysis/evidence/signing_key.hpp"
#include "logger/app/checkpoints/checkpoint_folder.hpp"

namespace logger::app {

// The log's head against all checkpoints of the folder.
struct HeadComparison {
  analysis::evidence::TreeHead head;
  // Why the log does not continue them, in one line: another root, a shorter log, a key that is
  // none of the job's, another mark. Empty = it continues all of them.
  std::string fault;
};
// By the log's stored hashes, O(log n) a checkpoint; whether the rows still give those hashes is
// EvidenceLog::check's to say.
[[nodiscard]] store::Result<HeadComparison> compare_head(const JobFolder& folder, bool simulated,
                                                         const KeptCheckpoints& kept);

struct SignedHead {
  KeptCheckpoint checkpoint;
  bool was_there = false;  // signed earlier, of the same size and root; nothing was written
};
// REQUIRES: `head` continues the checkpoints of the folder (compare_head). Writes the file whole or
// not at all, never over another one. Errors: of the folder; unavailable when another program
// signed another head of that size meanwhile.
[[nodiscard]] store::Result<SignedHead> sign_head(const JobFolder& folder,
                                                  const analysis::evidence::TreeHead& head,
                                                  bool simulated, UtcMicros now,
                                                  const analysis::evidence::SigningKey& key);

// Makes the file with these bytes, whole or not at all; false when one of that name was there,
// which stays as it was.
[[nodiscard]] store::Result<bool> write_new_file(const std::filesystem::path& file,
                                                 std::string_view bytes);

}  // namespace logger::app
