#include "logger/app/backup/manifest.hpp"

#include <algorithm>
#include <iterator>
#include <nlohmann/json.hpp>
#include <set>

#include "analysis/evidence/canonical_json.hpp"
#include "analysis/evidence/digest.hpp"

namespace logger::app {

using nlohmann::json;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

constexpr std::string_view kRootFiles[] = {"job.json", "readings.sqlite", "certificate-key.pub",
                                           "certificate-key.secret"};
// Certificates of a time-stamping authority may lie beside job.json.
constexpr std::string_view kRootEndings[] = {".pem", ".crt", ".cer"};
constexpr std::string_view kFolders[] = {"keys", "checkpoints", "certificates", "photos", "access"};

bool is_plain_name(std::string_view name) {
  const bool harmless = std::all_of(name.begin(), name.end(), [](char c) {
    const auto byte = static_cast<unsigned char>(c);
    return byte >= ' ' && byte != 0x7f && c != '/' && c != '\\';
  });
  return !name.empty() && name.front() != '.' && name.size() <= 100 && harmless;
}

json json_from_part(const BackupPart& part) {
  return {{"bytes", part.bytes},
          {"path", part.path},
          {"sha256", analysis::evidence::hex_from_digest(part.sha256)}};
}

// A member of the manifest, with its faults in one line each.
class Members {
 public:
  Members(const json& object, std::size_t count)
      : object_(object), sound_(object.is_object() && object.size() == count) {}
  std::string text(const char* key) {
    const json* value = find(key, json::value_t::string);
    return value != nullptr ? value->get<std::string>() : "";
  }
  std::uint64_t number(const char* key) {
    const json* value = find(key, json::value_t::number_unsigned);
    return value != nullptr ? value->get<std::uint64_t>() : 0;
  }
  bool truth(const char* key) {
    const json* value = find(key, json::value_t::boolean);
    return value != nullptr && value->get<bool>();
  }
  analysis::evidence::Sha256 digest(const char* key) {
    const auto digest = analysis::evidence::digest_from_hex(text(key));
    sound_ = sound_ && digest.has_value();
    return digest.value_or(analysis::evidence::Sha256{});
  }
  analysis::base::UtcMicros moment(const char* key) {
    const auto at = analysis::base::utc_from_rfc3339(text(key));
    sound_ = sound_ && at.has_value();
    return at.value_or(analysis::base::UtcMicros{});
  }
  const json& child(const char* key, json::value_t kind) {
    static const json kNothing;
    const json* value = find(key, kind);
    return value != nullptr ? *value : kNothing;
  }
  [[nodiscard]] bool sound() const { return sound_; }

 private:
  const json* find(const char* key, json::value_t kind) {
    if (sound_) {
      const auto found = object_.find(key);
      if (found != object_.end() && found->type() == kind) {
        return &*found;
      }
    }
    sound_ = false;
    return nullptr;
  }

  const json& object_;
  bool sound_;
};

// What is wrong with the part; empty when nothing is.
std::string read_part(const json& value, BackupPart& part) {
  Members members(value, 3);
  part.path = members.text("path");
  part.bytes = members.number("bytes");
  part.sha256 = members.digest("sha256");
  if (!members.sound()) {
    return "has no path, bytes and sha256";
  }
  return is_backup_path(part.path) ? "" : "`" + part.path + "` has no place in a job folder";
}

std::string read_parts(const json& list, std::vector<BackupPart>& parts) {
  std::set<std::string> seen;
  if (list.size() > kMaxBackupParts) {
    return "more than " + std::to_string(kMaxBackupParts) + " parts";
  }
  for (const json& value : list) {
    BackupPart part;
    std::string fault = read_part(value, part);
    if (fault.empty() && !seen.insert(part.path).second) {
      fault = "`" + part.path + "` stands there twice";
    }
    if (!fault.empty()) {
      return "part " + std::to_string(parts.size() + 1) + ": " + fault;
    }
    parts.push_back(std::move(part));
  }
  return seen.contains("job.json") && seen.contains("readings.sqlite")
             ? ""
             : "job.json or readings.sqlite is not among the parts";
}

}  // namespace

bool is_backup_path(std::string_view path) {
  const std::size_t slash = path.find('/');
  if (slash != std::string_view::npos) {
    const bool known = std::find(std::begin(kFolders), std::end(kFolders), path.substr(0, slash)) !=
                       std::end(kFolders);
    return known && is_plain_name(path.substr(slash + 1));
  }
  return std::find(std::begin(kRootFiles), std::end(kRootFiles), path) != std::end(kRootFiles) ||
         (is_plain_name(path) &&
          std::any_of(std::begin(kRootEndings), std::end(kRootEndings),
                      [&](std::string_view ending) { return path.ends_with(ending); }));
}

bool is_secret_path(std::string_view path) {
  return path.ends_with(".secret") || path.starts_with("access/");
}

Result<std::string> text_from_manifest(const BackupManifest& manifest) {
  json parts = json::array();
  for (const BackupPart& part : manifest.parts) {
    parts.push_back(json_from_part(part));
  }
  const auto text = analysis::evidence::canonical_from_json(
      {{"format", kBackupFormat},
       {"job_name", manifest.job_name},
       {"log",
        {{"root", analysis::evidence::hex_from_digest(manifest.log.root)},
         {"size", manifest.log.size}}},
       {"made_at", analysis::base::rfc3339_from_utc(manifest.made_at)},
       {"parts", std::move(parts)},
       {"simulated", manifest.simulated},
       {"software", manifest.software}});
  return text ? Result<std::string>{text.value() + "\n"}
              : failure(ErrorCode::unsupported,
                        "a name does not fit into a backup: " + text.error().text);
}

std::string digest_line_from_manifest(std::string_view manifest_text) {
  return analysis::evidence::hex_from_digest(analysis::evidence::sha256_from_bytes(manifest_text)) +
         "  " + std::string(kManifestName) + "\n";
}

Result<BackupManifest> manifest_from_text(std::string_view text, const std::string& name) {
  const auto refuse = [&](const std::string& what) {
    return failure(ErrorCode::invalid_input,
                   name + ": " + std::string(kManifestName) + ": " + what);
  };
  if (!text.ends_with('\n')) {
    return refuse("expected one line");
  }
  const auto parsed = analysis::evidence::json_from_canonical(text.substr(0, text.size() - 1));
  if (!parsed) {
    return refuse(parsed.error().text);
  }
  Members members(parsed.value(), 7);
  BackupManifest manifest;
  if (const std::string format = members.text("format"); format != kBackupFormat) {
    return refuse("format `" + format + "`; this program reads " + std::string(kBackupFormat));
  }
  manifest.job_name = members.text("job_name");
  manifest.software = members.text("software");
  manifest.made_at = members.moment("made_at");
  manifest.simulated = members.truth("simulated");
  Members log(members.child("log", json::value_t::object), 2);
  manifest.log = {log.number("size"), log.digest("root")};
  const json& parts = members.child("parts", json::value_t::array);
  if (!members.sound() || !log.sound()) {
    return refuse(
        "expected the members format, job_name, log, made_at, parts, simulated, software");
  }
  const std::string fault = read_parts(parts, manifest.parts);
  return fault.empty() ? Result<BackupManifest>{std::move(manifest)} : refuse(fault);
}

}  // namespace logger::app
