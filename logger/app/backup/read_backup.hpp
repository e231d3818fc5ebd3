// Makes a job folder out of a backup, after everything in it was checked (docs/install.md).
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "logger/app/backup/manifest.hpp"

namespace logger::app {

struct RestoredJob {
  BackupManifest manifest;
  analysis::evidence::Sha256 manifest_sha256;
  std::uint64_t log_entries = 0;
  std::size_t checkpoints = 0;  // that the log continues
};

// `job_dir` does not exist or is empty. All is written beside it first, as <job_dir>.restoring, and
// named job_dir once the store, its evidence log and the checkpoints are found sound. Errors:
// invalid_input (no backup, cut off, of another format, a path or kind of part that no backup has,
// a job folder that holds something), corrupt (a part is not what the manifest says; a store or log
// that is not sound), no_space (told before anything is written, where it can be), io. After an
// error job_dir is as it was.
[[nodiscard]] store::Result<RestoredJob> restore_backup(const std::filesystem::path& file,
                                                        const std::filesystem::path& job_dir);

}  // namespace logger::app
