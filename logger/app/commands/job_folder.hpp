// The folder of a job and what lies in it. Everything of a job stays there.
#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "logger/app/job/job.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::app {

struct JobFolder {
  std::filesystem::path root;

  [[nodiscard]] std::filesystem::path job_file() const { return root / "job.json"; }
  [[nodiscard]] std::filesystem::path store_file() const { return root / "readings.sqlite"; }
  [[nodiscard]] std::filesystem::path public_key() const { return root / "certificate-key.pub"; }
  [[nodiscard]] std::filesystem::path secret_key() const { return root / "certificate-key.secret"; }
  // Held by the dwellog run that works on the job.
  [[nodiscard]] std::filesystem::path run_lock() const { return root / "run.lock"; }
  // Copies of photos that notes name, each under its digest.
  [[nodiscard]] std::filesystem::path photos() const { return root / "photos"; }
  [[nodiscard]] std::filesystem::path certificates() const { return root / "certificates"; }
  [[nodiscard]] std::filesystem::path checkpoints() const { return root / "checkpoints"; }
  // Users, sessions and the key of the page.
  [[nodiscard]] std::filesystem::path access() const { return root / "access"; }
};

struct OpenedJob {
  JobFolder folder;
  Job job;
  std::string job_text;
  std::string job_sha256_hex;
  std::unique_ptr<store::ReadingStore> store;
  bool simulated = false;
  // Now for this job: the machine's clock, or for a simulated job the last time the logger was
  // alive there.
  UtcMicros now;
};

// The text of job.json; not_found says how a job folder is made.
[[nodiscard]] store::Result<std::string> read_job_text(const JobFolder& folder);

// Reads job.json (all its findings in the error's context, one a line; warnings are dropped) and
// opens the store.
[[nodiscard]] store::Result<OpenedJob> open_job(const std::filesystem::path& root,
                                                bool for_writing);

// Opens the store of a job whose folder and job are there already, and says what is now for it.
[[nodiscard]] store::Result<void> attach_store(OpenedJob& opened, bool for_writing);

// Holds a lock file for as long as it lives, so that two processes never do the same at once.
class FolderLock {
 public:
  explicit FolderLock(const std::filesystem::path& file);
  FolderLock(const FolderLock&) = delete;
  FolderLock& operator=(const FolderLock&) = delete;
  ~FolderLock();
  [[nodiscard]] bool held() const { return held_; }
  // Another program holds it now.
  [[nodiscard]] static bool is_taken(const std::filesystem::path& file);

 private:
  int descriptor_;
  bool held_ = false;
};

[[nodiscard]] store::Result<std::string> read_file(const std::filesystem::path& path);
// Written beside, synced and renamed, so that a reader never sees half a file.
[[nodiscard]] store::Result<void> write_file(const std::filesystem::path& path,
                                             std::string_view bytes, unsigned mode);

}  // namespace logger::app
