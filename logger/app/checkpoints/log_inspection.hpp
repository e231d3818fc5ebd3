// Looks the whole evidence log through: every row against its leaf, every hash, and the heads of
// all checkpoints that the folder holds.
#pragma once

#include <string>
#include <vector>

#include "logger/app/checkpoints/checkpoint_folder.hpp"

namespace logger::app {

struct LogInspection {
  analysis::evidence::TreeHead head;
  std::uint64_t proved_entries = 0;   // below the largest checkpoint that holds
  std::vector<std::string> findings;  // what is wrong, a line each; empty = sound
  std::vector<std::string> remarks;   // worth a look, no fault of the log
};

// One pass over log and tables, in bounded memory. Errors: of reading the store.
[[nodiscard]] store::Result<LogInspection> inspect_log(const JobFolder& folder, bool simulated,
                                                       const KeptCheckpoints& kept);

}  // namespace logger::app
