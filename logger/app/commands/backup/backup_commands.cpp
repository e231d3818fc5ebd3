// backup, restore.
#include <csignal>
#include <ostream>

#include "logger/app/backup/last_backup.hpp"
#include "logger/app/backup/read_backup.hpp"
#include "logger/app/backup/write_backup.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/daemon/real_clock.hpp"
#include "logger/app/job/job_file.hpp"

namespace logger::app {

namespace {

std::uint64_t bytes_of(const BackupManifest& manifest) {
  std::uint64_t bytes = 0;
  for (const BackupPart& part : manifest.parts) {
    bytes += part.bytes;
  }
  return bytes;
}

bool holds(const BackupManifest& manifest, const std::string& path) {
  return std::any_of(manifest.parts.begin(), manifest.parts.end(),
                     [&](const BackupPart& part) { return part.path == path; });
}

void print_contents(const BackupManifest& manifest, const analysis::evidence::Sha256& digest,
                    std::ostream& out) {
  out << "  " << manifest.parts.size() << " file(s), " << bytes_of(manifest)
      << " bytes; store with " << manifest.log.size << " log entries"
      << (manifest.simulated ? "; SIMULATED SITE" : "")
      << "\n  SHA-256 of its manifest: " << analysis::evidence::hex_from_digest(digest) << '\n';
}

// A job.json that can't be read is backed up like any other; only its name is not known then.
std::string job_name_of(const JobFolder& folder) {
  const auto text = read_file(folder.job_file());
  const JobReading reading = job_from_text(text ? text.value() : "", folder.job_file().string());
  return reading.job ? reading.job->name : "";
}

}  // namespace

int backup(const BackupOptions& options, const Console& console) {
  std::signal(SIGXFSZ, SIG_IGN);  // a file at its limit is an error of the write
  const JobFolder folder{options.job_dir};
  const auto now = utc_of_this_machine();
  const auto made = write_backup({options.job_dir, options.file, options.with_secret_key, now,
                                  job_name_of(folder), software_text()});
  if (!made) {
    return report(console, made.error());
  }
  console.out << options.file.string() << ": backup of " << options.job_dir.string() << '\n';
  print_contents(made.value().manifest, made.value().manifest_sha256, console.out);
  console.out
      << (options.with_secret_key
              ? "  with the secret key: whoever gets this file can sign in your name\n"
              : "  without the secret key: keep a copy of certificate-key.secret yourself\n");
  for (const std::string& name : made.value().left_out) {
    console.out << "  left out, as no backup takes it: " << name << '\n';
  }
  std::error_code error;
  const auto noted = note_last_backup(
      options.job_dir, {now, std::filesystem::absolute(options.file, error).string()});
  if (!noted) {
    console.out << "  the backup is whole; only the note of it was not kept: "
                << noted.error().context << '\n';
  }
  return kExitDone;
}

int restore(const RestoreOptions& options, const Console& console) {
  std::signal(SIGXFSZ, SIG_IGN);
  const auto restored = restore_backup(options.file, options.job_dir);
  if (!restored) {
    const int status = report(console, restored.error());
    console.err << "dwellog: nothing was restored\n";
    return restored.error().code == store::ErrorCode::corrupt ? kExitNot : status;
  }
  const RestoredJob& job = restored.value();
  const std::string where = options.job_dir.string();
  console.out << where << ": restored from the backup of "
              << analysis::base::minute_text_from_utc(job.manifest.made_at)
              << (job.manifest.job_name.empty() ? "" : ", job \"" + job.manifest.job_name + "\"")
              << '\n';
  print_contents(job.manifest, job.manifest_sha256, console.out);
  console.out << "  store sound, every file as it was, evidence log of " << job.log_entries
              << " entries whole; it continues " << job.checkpoints << " checkpoint(s)\n";
  if (!holds(job.manifest, "certificate-key.secret")) {
    console.out << "  missing: the secret key. Put your copy back as " << where
                << "/certificate-key.secret (readable by its owner alone), or make a new key with "
                   "`dwellog keys "
                << where << " rotate --lost`\n";
  }
  console.out << "  what came after the backup: `dwellog run` asks the boxes for what they still "
                 "hold; the rest is noted as missing.\n"
                 "  Checkpoints signed after the backup are not continued by this log; say so to "
                 "whoever holds one.\n";
  return kExitDone;
}

}  // namespace logger::app
