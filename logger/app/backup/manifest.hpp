// What a backup holds: its first part, manifest.json, and after it the digest of that. Format:
// docs/install.md. Pure; any thread.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/base/time.hpp"
#include "analysis/evidence/merkle_proof.hpp"
#include "logger/store/error.hpp"

namespace logger::app {

inline constexpr std::string_view kBackupFormat = "dwellog-backup-1";
inline constexpr std::string_view kManifestName = "manifest.json";
inline constexpr std::string_view kManifestDigestName = "manifest.json.sha256";
inline constexpr std::uint64_t kMaxManifestBytes = 16 * 1024 * 1024;
inline constexpr std::size_t kMaxBackupParts = 100'000;

struct BackupPart {
  std::string path;  // in the job folder
  std::uint64_t bytes = 0;
  analysis::evidence::Sha256 sha256;
  bool operator==(const BackupPart&) const = default;
};

struct BackupManifest {
  analysis::base::UtcMicros made_at;
  std::string job_name;
  std::string software;
  bool simulated = false;
  analysis::evidence::TreeHead log;  // of the store in the backup
  std::vector<BackupPart> parts;     // in the order in which they follow
  bool operator==(const BackupManifest&) const = default;
};

// Canonical JSON (RFC 8785) with a line end. unsupported when a name in it is no UTF-8.
[[nodiscard]] store::Result<std::string> text_from_manifest(const BackupManifest& manifest);
// The line that `sha256sum manifest.json` prints for this text.
[[nodiscard]] std::string digest_line_from_manifest(std::string_view manifest_text);
// invalid_input for anything that text_from_manifest does not give, an unknown format, a path that
// is_backup_path refuses and a path that stands there twice.
[[nodiscard]] store::Result<BackupManifest> manifest_from_text(std::string_view text,
                                                               const std::string& name);

// A place in a job folder where a backup may put a file: job.json, the store, key files, and plain
// names in the folders of keys, checkpoints, certificates, photos and access.
[[nodiscard]] bool is_backup_path(std::string_view path);
// The file signs in the job's name, or says who may see its page.
[[nodiscard]] bool is_secret_path(std::string_view path);

}  // namespace logger::app
