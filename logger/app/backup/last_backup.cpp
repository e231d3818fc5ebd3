#include "logger/app/backup/last_backup.hpp"

#include "logger/app/commands/job_folder.hpp"
#include "logger/store/json_line.hpp"

namespace logger::app {
namespace {

std::filesystem::path note_file(const std::filesystem::path& job_dir) {
  return job_dir / "last-backup.json";
}

}  // namespace

store::Result<void> note_last_backup(const std::filesystem::path& job_dir,
                                     const LastBackup& backup) {
  const std::string line = store::json_line(
      {{"at", analysis::base::rfc3339_from_utc(backup.at)}, {"file", backup.file}});
  return write_file(note_file(job_dir), line + "\n", 0644);
}

std::optional<LastBackup> last_backup_of(const std::filesystem::path& job_dir) {
  const auto text = read_file(note_file(job_dir));
  const auto note = nlohmann::json::parse(text ? text.value() : "", nullptr, false);
  if (!note.is_object() || !note.contains("at") || !note["at"].is_string() ||
      !note.contains("file") || !note["file"].is_string()) {
    return std::nullopt;
  }
  const auto at = analysis::base::utc_from_rfc3339(note["at"].get<std::string>());
  return at ? std::optional(LastBackup{*at, note["file"].get<std::string>()}) : std::nullopt;
}

}  // namespace logger::app
