#include "logger/app/backup/read_backup.hpp"

#include <fcntl.h>
#include <stdio.h>
#include <sys/stat.h>

#include <array>
#include <cerrno>
#include <utility>

#include "analysis/evidence/checkpoint.hpp"
#include "logger/app/backup/tar_archive.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/files/open_file.hpp"
#include "logger/app/files/stream_digest.hpp"
#include "logger/store/evidence_log.hpp"
#include "logger/store/store_check.hpp"

namespace logger::app {

using analysis::evidence::TreeHead;
using store::ErrorCode;
using store::failure;
using store::Result;
namespace fs = std::filesystem;

namespace {

// A folder that is gone with it, unless it was kept.
class TemporaryFolder {
 public:
  explicit TemporaryFolder(fs::path path) : path_(std::move(path)) {}
  ~TemporaryFolder() {
    if (made_) {
      std::error_code error;
      fs::remove_all(path_, error);
    }
  }
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;

  Result<void> make() {
    if (::mkdir(path_.c_str(), 0755) != 0) {
      return errno == EEXIST
                 ? failure(ErrorCode::invalid_input, path_.string() +
                                                         " is left from a restore that was cut "
                                                         "short; remove it and restore once more")
                 : system_failure("cannot make " + path_.string());
    }
    made_ = true;
    return {};
  }
  Result<void> keep_as(const fs::path& name) {
    if (const auto synced = sync_file_system(path_); !synced) {
      return synced;
    }
    // Takes the place of an empty folder, never of one that holds something.
    if (::rename(path_.c_str(), name.c_str()) != 0) {
      return system_failure("cannot make " + name.string());
    }
    made_ = false;
    return sync_folder(name.has_parent_path() ? name.parent_path() : fs::path("."));
  }
  [[nodiscard]] const fs::path& path() const { return path_; }

 private:
  fs::path path_;
  bool made_ = false;
};

Result<void> expect_no_job(const fs::path& job_dir) {
  std::error_code error;
  if (!fs::exists(fs::symlink_status(job_dir, error))) {
    return {};
  }
  const bool empty = fs::is_directory(fs::symlink_status(job_dir, error)) &&
                     fs::is_empty(job_dir, error) && !error;
  return empty ? Result<void>{}
               : failure(ErrorCode::invalid_input,
                         job_dir.string() +
                             " is there already and holds something; a backup is "
                             "restored into a folder that is not there or empty");
}

Result<void> expect_room(const BackupManifest& manifest, const fs::path& folder) {
  std::uint64_t needed = 0;
  for (const BackupPart& part : manifest.parts) {
    if (part.bytes > kMaxTarMemberBytes) {
      return failure(ErrorCode::invalid_input, part.path + ": " + std::to_string(part.bytes) +
                                                   " bytes, more than a part of "
                                                   "a backup has");
    }
    needed += part.bytes;  // at most 2^17 parts of 2^33 bytes
  }
  std::error_code error;
  const auto space = fs::space(folder, error);
  if (!error && space.available < needed) {
    return failure(ErrorCode::no_space, folder.string() + ": " + std::to_string(needed) +
                                            " bytes are needed, " +
                                            std::to_string(space.available) + " are free");
  }
  return {};
}

class BackupReader {
 public:
  BackupReader(OpenFile file, std::string name)
      : file_(std::move(file)),
        name_(std::move(name)),
        tar_([this](std::span<char> bytes) { return file_.read(bytes); }, name_) {}
  BackupReader(const BackupReader&) = delete;
  BackupReader& operator=(const BackupReader&) = delete;

  // The manifest's bytes, which are those that its digest was taken of.
  Result<std::string> read_manifest() {
    auto text = read_text(kManifestName, kMaxManifestBytes);
    const auto digest = text ? read_text(kManifestDigestName, 200) : store::Failure{text.error()};
    if (!digest) {
      return digest;
    }
    return digest.value() == digest_line_from_manifest(text.value())
               ? std::move(text)
               : failure(ErrorCode::corrupt, name_ + ": " + std::string(kManifestName) +
                                                 " is not what it was: its SHA-256 differs");
  }

  // The part that must come next, into the file `target`.
  Result<void> read_part(const BackupPart& part, const fs::path& target) {
    const auto member = tar_.next();
    if (!member) {
      return store::Failure{member.error()};
    }
    if (!member.value() || member.value()->path != part.path ||
        member.value()->size != part.bytes) {
      return failure(ErrorCode::corrupt,
                     name_ + ": expected " + part.path + " with " + std::to_string(part.bytes) +
                         " bytes next, found " +
                         (member.value() ? member.value()->path + " with " +
                                               std::to_string(member.value()->size)
                                         : "the end"));
    }
    return copy_part(part, target);
  }

  Result<void> expect_end() {
    const auto member = tar_.next();
    if (!member) {
      return store::Failure{member.error()};
    }
    return member.value() ? failure(ErrorCode::corrupt, name_ + ": " + member.value()->path +
                                                            " does not stand in the manifest")
                          : Result<void>{};
  }

 private:
  Result<std::string> read_text(std::string_view name, std::uint64_t max_bytes) {
    const auto member = tar_.next();
    if (!member) {
      return store::Failure{member.error()};
    }
    if (!member.value() || member.value()->path != name || member.value()->size > max_bytes) {
      return failure(ErrorCode::invalid_input,
                     name_ + ": does not begin with " + std::string(kManifestName) + " and " +
                         std::string(kManifestDigestName) + "; this is no backup of dwellog");
    }
    std::string text(static_cast<std::size_t>(member.value()->size), '\0');
    const auto read = tar_.read(text);
    return read ? Result<std::string>{std::move(text)} : store::Failure{read.error()};
  }

  Result<void> copy_part(const BackupPart& part, const fs::path& target) {
    auto out =
        OpenFile::open(target, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW,
                       is_secret_path(part.path) ? 0600 : 0644, "cannot write " + target.string());
    if (!out) {
      return store::Failure{out.error()};
    }
    StreamDigest digest;
    std::array<char, 65536> buffer{};
    while (true) {
      const auto got = tar_.read(buffer);
      if (!got) {
        return store::Failure{got.error()};
      }
      if (got.value() == 0) {
        break;
      }
      digest.add({buffer.data(), got.value()});
      if (const auto put = out.value().write({buffer.data(), got.value()}); !put) {
        return put;
      }
    }
    if (digest.finish() != part.sha256) {
      return failure(ErrorCode::corrupt, name_ + ": " + part.path +
                                             " is not what the manifest says: its SHA-256 differs");
    }
    return {};
  }

  OpenFile file_;
  std::string name_;
  TarReader tar_;
};

Result<void> unpack(BackupReader& reader, const BackupManifest& manifest, const fs::path& folder) {
  for (const BackupPart& part : manifest.parts) {
    const fs::path target = folder / part.path;
    std::error_code error;
    fs::create_directories(target.parent_path(), error);
    if (error) {
      return failure(ErrorCode::io,
                     "cannot make " + target.parent_path().string() + ": " + error.message());
    }
    if (part.path.find('/') != std::string::npos && is_secret_path(part.path)) {
      fs::permissions(target.parent_path(), fs::perms::owner_all, error);
    }
    if (const auto read = reader.read_part(part, target); !read) {
      return read;
    }
  }
  return reader.expect_end();
}

Result<std::vector<TreeHead>> checkpoint_heads(const BackupManifest& manifest,
                                               const fs::path& folder) {
  std::vector<TreeHead> heads;
  for (const BackupPart& part : manifest.parts) {
    if (!part.path.starts_with("checkpoints/") || !part.path.ends_with(".json")) {
      continue;
    }
    const auto text = read_file(folder / part.path);
    if (!text) {
      return store::Failure{text.error()};
    }
    const auto checkpoint = analysis::evidence::checkpoint_from_text(text.value());
    if (!checkpoint) {
      return failure(ErrorCode::corrupt, part.path + ": " + checkpoint.error().text);
    }
    heads.push_back(checkpoint.value().head);
  }
  return heads;
}

// What is wrong with the restored store, or how it was found.
Result<RestoredJob> check_restored(BackupManifest manifest, const fs::path& folder) {
  const std::string store_file = JobFolder{folder}.store_file().string();
  // Writes once, so that a store of an older program is brought up to date.
  if (const auto opened = store::open_sqlite_store(store_file, {}); !opened) {
    return store::Failure{opened.error()};
  }
  if (const auto sound = store::full_check(store_file); !sound) {
    return store::Failure{sound.error()};
  }
  auto heads = checkpoint_heads(manifest, folder);
  if (!heads) {
    return store::Failure{heads.error()};
  }
  const std::size_t checkpoints = heads.value().size();
  heads.value().push_back(manifest.log);
  auto log = store::EvidenceLog::open(store_file);
  const auto report = log ? log.value().check(heads.value()) : store::Failure{log.error()};
  if (!report) {
    return store::Failure{report.error()};
  }
  if (!report.value().sound()) {
    return failure(ErrorCode::corrupt, "evidence log: " + report.value().findings.front().text);
  }
  return RestoredJob{std::move(manifest), {}, report.value().stored.size, checkpoints};
}

}  // namespace

Result<RestoredJob> restore_backup(const fs::path& file, const fs::path& wanted) {
  // Without a slash at its end, so that the folder beside it is beside it.
  const fs::path job_dir = (fs::absolute(wanted).lexically_normal() / "").parent_path();
  if (const auto free = expect_no_job(job_dir); !free) {
    return store::Failure{free.error()};
  }
  auto opened = OpenFile::for_reading(file);
  if (!opened) {
    return store::Failure{opened.error()};
  }
  BackupReader reader(std::move(opened).value(), file.string());
  const auto text = reader.read_manifest();
  if (!text) {
    return store::Failure{text.error()};
  }
  auto manifest = manifest_from_text(text.value(), file.string());
  if (!manifest) {
    return store::Failure{manifest.error()};
  }
  TemporaryFolder folder(job_dir.string() + ".restoring");
  Result<void> done = folder.make();
  if (done) {
    done = expect_room(manifest.value(), folder.path());
  }
  if (done) {
    done = unpack(reader, manifest.value(), folder.path());
  }
  if (!done) {
    return store::Failure{done.error()};
  }
  auto restored = check_restored(std::move(manifest).value(), folder.path());
  if (!restored) {
    return restored;
  }
  restored.value().manifest_sha256 = analysis::evidence::sha256_from_bytes(text.value());
  const auto named = folder.keep_as(job_dir);
  return named ? std::move(restored) : store::Failure{named.error()};
}

}  // namespace logger::app
