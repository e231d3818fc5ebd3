// Which files of a job folder belong into a backup.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "logger/store/error.hpp"

namespace logger::app {

struct FolderContents {
  std::vector<std::string> paths;     // in the folder, sorted; the store is not among them
  std::vector<std::string> left_out;  // files and folders that no backup takes, sorted
};

// Secret keys only when asked for; they are not counted as left out. What the program makes for
// itself (lock, write-ahead log, unfinished files) is in neither list.
[[nodiscard]] store::Result<FolderContents> backup_contents(const std::filesystem::path& job_dir,
                                                            bool with_secret_key);

}  // namespace logger::app
