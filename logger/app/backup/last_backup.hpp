// When a job was last backed up, and where to: last-backup.json in its folder, which tells
// `dwellog inspect` and goes into no backup itself.
#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "analysis/base/time.hpp"
#include "logger/store/error.hpp"

namespace logger::app {

struct LastBackup {
  analysis::base::UtcMicros at;
  std::string file;
};

[[nodiscard]] store::Result<void> note_last_backup(const std::filesystem::path& job_dir,
                                                   const LastBackup& backup);
// nullopt when there was none, or the note of it can't be read.
[[nodiscard]] std::optional<LastBackup> last_backup_of(const std::filesystem::path& job_dir);

}  // namespace logger::app
