#include "logger/app/backup/backup_parts.hpp"

#include <algorithm>
#include <iterator>
#include <string_view>
#include <system_error>

#include "logger/app/backup/manifest.hpp"

namespace logger::app {

using store::ErrorCode;
using store::Result;
namespace fs = std::filesystem;

namespace {

// Sessions end with a restore: whoever was logged in logs in again.
constexpr std::string_view kOwnFiles[] = {
    "readings.sqlite",  "readings.sqlite-wal", "readings.sqlite-shm", "run.lock",
    "last-backup.json", "access/users.lock",   "access/sessions.json"};

bool is_own_file(const std::string& path) {
  return path.ends_with(".part") ||
         std::find(std::begin(kOwnFiles), std::end(kOwnFiles), path) != std::end(kOwnFiles);
}

store::Failure cannot_list(const fs::path& folder, const std::error_code& error) {
  const bool missing = error == std::errc::no_such_file_or_directory;
  return store::failure(missing ? ErrorCode::not_found : ErrorCode::io,
                        "cannot list " + folder.string() + ": " + error.message(), error.value());
}

void sort_in(const fs::directory_entry& entry, const std::string& path, bool with_secret_key,
             FolderContents& contents) {
  std::error_code error;
  if (is_own_file(path)) {
    return;
  }
  // A link may lead anywhere, also to what a backup has no business with.
  if (!is_backup_path(path) || entry.is_symlink(error) || !entry.is_regular_file(error)) {
    contents.left_out.push_back(path);
  } else if (with_secret_key || !is_secret_path(path)) {
    contents.paths.push_back(path);
  }
}

}  // namespace

Result<FolderContents> backup_contents(const fs::path& job_dir, bool with_secret_key) {
  FolderContents contents;
  std::error_code error;
  for (fs::directory_iterator top(job_dir, error), end; !error && top != end;
       top.increment(error)) {
    const std::string name = top->path().filename().string();
    const bool is_known_folder = is_backup_path(name + "/x");
    if (!is_known_folder || top->is_symlink(error) || !top->is_directory(error)) {
      sort_in(*top, name, with_secret_key, contents);
      continue;
    }
    std::error_code inner;
    for (fs::directory_iterator in(top->path(), inner); !inner && in != end; in.increment(inner)) {
      sort_in(*in, name + "/" + in->path().filename().string(), with_secret_key, contents);
    }
    if (inner) {
      return cannot_list(top->path(), inner);
    }
  }
  if (error) {
    return cannot_list(job_dir, error);
  }
  std::sort(contents.paths.begin(), contents.paths.end());
  std::sort(contents.left_out.begin(), contents.left_out.end());
  return contents;
}

}  // namespace logger::app
