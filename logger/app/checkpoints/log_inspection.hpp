// Looks the whole evidence log through: every row against its leaf, every hash, and the heads of
// all checkpoints that the folder holds.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "logger/app/checkpoints/checkpoint_folder.hpp"
#include "logger/store/log/log_report.hpp"

namespace logger::app {

struct LogInspection {
  analysis::evidence::TreeHead head;
  std::uint64_t proved_entries = 0;   // below the largest checkpoint that holds
  std::vector<std::string> findings;  // what is wrong, a line each; empty = sound
  std::vector<std::string> remarks;   // worth a look, no fault of the log
};

// A line for each finding, and one for those that the report counts only.
[[nodiscard]] std::vector<std::string> finding_texts(const store::LogReport& report);
// Of notes that were dated back; nullopt where there is none.
[[nodiscard]] std::optional<std::string> dated_back_text(const store::LogReport& report);

// One pass over log and tables, in bounded memory. Errors: of reading the store.
[[nodiscard]] store::Result<LogInspection> inspect_log(const JobFolder& folder, bool simulated,
                                                       const KeptCheckpoints& kept);

}  // namespace logger::app
