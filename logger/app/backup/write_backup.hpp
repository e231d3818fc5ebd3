// Puts a job into one file while its logger goes on (docs/install.md).
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "logger/app/backup/manifest.hpp"

namespace logger::app {

struct BackupOrder {
  std::filesystem::path job_dir;
  std::filesystem::path file;  // made with its final name when it is whole and on disk
  bool with_secret_key = false;
  analysis::base::UtcMicros made_at;
  std::string job_name;
  std::string software;
};

struct BackupMade {
  BackupManifest manifest;
  analysis::evidence::Sha256 manifest_sha256;
  std::vector<std::string> left_out;  // of the folder, as no backup takes them
};

// The store as of one commit, and the other files as they were just before it: what is finished
// never changes, and a checkpoint or certificate is never newer than the store beside it. For a
// while the folder of `file` needs room for twice the store. Errors: invalid_input (the file is
// there already), those of the store, unsupported (a name or size that fits into no backup),
// no_space, io. After an error nothing of the backup is left.
[[nodiscard]] store::Result<BackupMade> write_backup(const BackupOrder& order);

}  // namespace logger::app
