#include "logger/app/backup/write_backup.hpp"

#include <fcntl.h>
#include <stdio.h>
#include <unistd.h>

#include <optional>
#include <utility>

#include "logger/app/backup/backup_parts.hpp"
#include "logger/app/backup/tar_archive.hpp"
#include "logger/app/files/open_file.hpp"
#include "logger/app/files/stream_digest.hpp"
#include "logger/store/evidence_log.hpp"
#include "logger/store/store_copy.hpp"

namespace logger::app {

using analysis::evidence::Sha256;
using store::ErrorCode;
using store::failure;
using store::Result;
namespace fs = std::filesystem;

namespace {

constexpr const char* kStoreName = "readings.sqlite";

// Unfinished files, gone with it.
class Unfinished {
 public:
  explicit Unfinished(fs::path file) : file_(std::move(file)) { remove(); }
  ~Unfinished() { remove(); }
  Unfinished(const Unfinished&) = delete;
  Unfinished& operator=(const Unfinished&) = delete;
  [[nodiscard]] const fs::path& path() const { return file_; }

 private:
  void remove() const {
    std::error_code error;
    fs::remove(file_, error);
  }
  fs::path file_;
};

Result<BackupPart> measure(const fs::path& source, const std::string& path) {
  BackupPart part{path, 0, {}};
  StreamDigest digest;
  const auto read = stream_file(source, [&](std::string_view bytes) {
    part.bytes += bytes.size();
    digest.add(bytes);
    return Result<void>{};
  });
  if (!read) {
    return store::Failure{read.error()};
  }
  part.sha256 = digest.finish();
  return part;
}

// Where each part of the manifest is read from.
fs::path source_of(const BackupPart& part, const fs::path& job_dir, const fs::path& store_copy) {
  return part.path == kStoreName ? store_copy : job_dir / part.path;
}

Result<BackupManifest> take_stock(const BackupOrder& order, const std::vector<std::string>& paths,
                                  const fs::path& store_copy) {
  BackupManifest manifest{order.made_at, order.job_name, order.software, false, {}, {}};
  {
    auto log = store::EvidenceLog::open(store_copy.string());
    const auto head = log ? log.value().head() : store::Failure{log.error()};
    auto copy = store::open_sqlite_store(store_copy.string(), {.read_only = true});
    const auto simulated = copy ? copy.value()->simulated() : store::Failure{copy.error()};
    if (!head || !simulated) {
      return store::Failure{!head ? head.error() : simulated.error()};
    }
    manifest.log = head.value();
    manifest.simulated = simulated.value().value_or(false);
  }
  std::vector<std::string> all = paths;
  all.emplace_back(kStoreName);
  for (const std::string& path : all) {
    auto part = measure(source_of({path, 0, {}}, order.job_dir, store_copy), path);
    if (!part) {
      return store::Failure{part.error()};
    }
    manifest.parts.push_back(std::move(part).value());
  }
  return manifest;
}

Result<void> put_part(TarWriter& tar, const BackupPart& part, const fs::path& source,
                      analysis::base::UtcMicros at) {
  const unsigned mode = is_secret_path(part.path) ? 0600 : 0644;
  if (const auto begun = tar.begin({part.path, part.bytes, mode, at}); !begun) {
    return begun;
  }
  const auto changed = [&] {
    return failure(ErrorCode::unavailable,
                   source.string() + " changed while it was backed up; back up once more");
  };
  std::uint64_t left = part.bytes;
  StreamDigest digest;
  const auto written = stream_file(source, [&](std::string_view bytes) -> Result<void> {
    if (bytes.size() > left) {
      return changed();
    }
    left -= bytes.size();
    digest.add(bytes);
    return tar.write(bytes);
  });
  if (!written) {
    return written;
  }
  return left == 0 && digest.finish() == part.sha256 ? tar.end() : changed();
}

Result<void> put_text(TarWriter& tar, std::string_view name, const std::string& text,
                      analysis::base::UtcMicros at) {
  Result<void> done = tar.begin({std::string(name), text.size(), 0644, at});
  if (done) {
    done = tar.write(text);
  }
  return done ? tar.end() : done;
}

Result<void> write_archive(const BackupOrder& order, const BackupManifest& manifest,
                           const std::string& manifest_text, const fs::path& store_copy,
                           const fs::path& part_file) {
  auto file =
      OpenFile::open(part_file, O_WRONLY | O_CREAT | O_EXCL, order.with_secret_key ? 0600 : 0644,
                     "cannot write " + part_file.string());
  if (!file) {
    return store::Failure{file.error()};
  }
  TarWriter tar([&](std::string_view bytes) { return file.value().write(bytes); });
  Result<void> done = put_text(tar, kManifestName, manifest_text, order.made_at);
  if (done) {
    done =
        put_text(tar, kManifestDigestName, digest_line_from_manifest(manifest_text), order.made_at);
  }
  for (std::size_t i = 0; done && i < manifest.parts.size(); ++i) {
    const BackupPart& part = manifest.parts[i];
    done = put_part(tar, part, source_of(part, order.job_dir, store_copy), order.made_at);
  }
  if (done) {
    done = tar.finish();
  }
  return done ? file.value().sync() : done;
}

fs::path folder_of(const fs::path& file) {
  return file.has_parent_path() ? file.parent_path() : fs::path(".");
}

Result<void> name_finally(const fs::path& part_file, const fs::path& file) {
  if (::renameat2(AT_FDCWD, part_file.c_str(), AT_FDCWD, file.c_str(), RENAME_NOREPLACE) != 0) {
    return system_failure("cannot make " + file.string());
  }
  return sync_folder(folder_of(file));
}

}  // namespace

Result<BackupMade> write_backup(const BackupOrder& order) {
  std::error_code error;
  if (fs::exists(order.file, error)) {
    return failure(ErrorCode::invalid_input,
                   order.file.string() + " is there already; nothing was changed");
  }
  const fs::path target_folder = folder_of(order.file);
  if (!fs::is_directory(target_folder, error)) {
    return failure(
        ErrorCode::not_found,
        target_folder.string() + ": no such folder for the backup; make it, or name another");
  }
  // Before the store: see the header.
  auto contents = backup_contents(order.job_dir, order.with_secret_key);
  if (!contents) {
    return store::Failure{contents.error()};
  }
  // Of this process alone: another backup to the same file must not find them.
  const std::string own = order.file.string() + "." + std::to_string(::getpid());
  const Unfinished part_file(own + ".part");
  const Unfinished store_copy(own + ".store.part");
  const auto copied =
      store::copy_store((order.job_dir / kStoreName).string(), store_copy.path().string());
  if (!copied) {
    return store::Failure{copied.error()};
  }
  auto manifest = take_stock(order, contents.value().paths, store_copy.path());
  if (!manifest) {
    return store::Failure{manifest.error()};
  }
  const auto text = text_from_manifest(manifest.value());
  if (!text) {
    return store::Failure{text.error()};
  }
  Result<void> done =
      write_archive(order, manifest.value(), text.value(), store_copy.path(), part_file.path());
  if (done) {
    done = name_finally(part_file.path(), order.file);
  }
  if (!done) {
    return store::Failure{done.error()};
  }
  return BackupMade{std::move(manifest).value(),
                    analysis::evidence::sha256_from_bytes(text.value()),
                    std::move(contents.value().left_out)};
}

}  // namespace logger::app
