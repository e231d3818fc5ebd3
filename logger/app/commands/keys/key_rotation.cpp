#include "logger/app/commands/keys/key_rotation.hpp"

#include <algorithm>
#include <charconv>

#include "analysis/evidence/handover.hpp"

namespace logger::app {

using analysis::evidence::Handover;
using analysis::evidence::PublicKey;
using analysis::evidence::SigningKey;
using std::filesystem::path;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

constexpr std::string_view kArchivedPrefix = "certificate-key-";

path keys_folder(const JobFolder& folder) { return folder.root / "keys"; }
path archived_public_key(const JobFolder& folder, std::int64_t number) {
  return keys_folder(folder) / (std::string(kArchivedPrefix) + std::to_string(number) + ".pub");
}
path handover_file(const JobFolder& folder, std::int64_t number) {
  return keys_folder(folder) / ("handover-" + std::to_string(number) + ".json");
}
// The new secret key from before its hand-over is written until it has taken the old one's place.
path pending_secret(const JobFolder& folder) { return folder.secret_key().string() + ".new"; }

bool is_there(const path& file) {
  std::error_code error;
  return std::filesystem::exists(file, error);
}

Result<void> rename_file(const path& from, const path& to) {
  std::error_code error;
  std::filesystem::rename(from, to, error);
  return error ? Result<void>(failure(ErrorCode::io,
                                      "cannot rename " + from.string() + " to " + to.string() +
                                          ": " + error.message(),
                                      error.value()))
               : Result<void>();
}

Result<void> make_keys_folder(const JobFolder& folder) {
  std::error_code error;
  std::filesystem::create_directories(keys_folder(folder), error);
  return error ? Result<void>(
                     failure(ErrorCode::io,
                             "cannot make " + keys_folder(folder).string() + ": " + error.message(),
                             error.value()))
               : Result<void>();
}

store::Error rotation_runs(const JobFolder& folder) {
  return {ErrorCode::unavailable,
          keys_folder(folder).string() +
              ": cannot be written, or another change of keys is running; try again",
          0};
}

// Number of the highest public key kept; 0 where there is none.
std::int64_t highest_archived(const JobFolder& folder) {
  std::int64_t highest = 0;
  std::error_code error;
  for (const auto& entry : std::filesystem::directory_iterator(keys_folder(folder), error)) {
    std::string name = entry.path().filename().string();
    if (!name.starts_with(kArchivedPrefix) || !name.ends_with(".pub")) {
      continue;
    }
    name = name.substr(kArchivedPrefix.size(), name.size() - kArchivedPrefix.size() - 4);
    std::int64_t number = 0;
    const auto [end, fault] = std::from_chars(name.data(), name.data() + name.size(), number);
    if (fault == std::errc{} && end == name.data() + name.size()) {
      highest = std::max(highest, number);
    }
  }
  return highest;
}

// The number under which the job's present public key is or will be kept.
Result<std::int64_t> number_of(const JobFolder& folder, const PublicKey& current) {
  const std::int64_t highest = highest_archived(folder);
  if (highest == 0) {
    return std::int64_t{1};
  }
  const auto kept = read_public_key(archived_public_key(folder, highest));
  if (!kept) {
    return store::Failure{kept.error()};
  }
  return kept.value() == current ? highest : highest + 1;
}

Result<Handover> read_handover(const path& file) {
  const auto text = read_file(file);
  if (!text) {
    return store::Failure{text.error()};
  }
  const auto handover = analysis::evidence::handover_from_text(text.value());
  if (!handover) {
    return failure(ErrorCode::corrupt, file.string() + ": " + handover.error().text);
  }
  return handover.value();
}

// What an interrupted rotation left, brought to its end; nullopt where none was.
Result<std::optional<Rotation>> finish_interrupted(const JobFolder& folder,
                                                   const PublicKey& current, std::int64_t number) {
  const path statement = handover_file(folder, number);
  const bool is_pending = is_there(pending_secret(folder));
  if (!is_there(statement)) {
    std::error_code error;
    std::filesystem::remove(pending_secret(folder), error);  // never spoken of, so never used
    return std::optional<Rotation>();
  }
  const auto handover = read_handover(statement);
  auto next = read_secret_key_file(is_pending ? pending_secret(folder) : folder.secret_key());
  if (!handover || !next) {
    return store::Failure{!handover ? handover.error() : next.error()};
  }
  analysis::evidence::wipe(next.value().text);
  if (handover.value().old_key != current || handover.value().new_key != next.value().public_key) {
    return failure(ErrorCode::invalid_input,
                   statement.string() + " hands the present key over to " +
                       fingerprint_of(handover.value().new_key) +
                       ", whose secret is not here: put its key files back, or begin anew with "
                       "--lost");
  }
  if (is_pending) {
    const auto renamed = rename_file(pending_secret(folder), folder.secret_key());
    if (!renamed) {
      return store::Failure{renamed.error()};
    }
  }
  const auto written =
      write_file(folder.public_key(), text_from_public_key(handover.value().new_key), 0644);
  if (!written) {
    return store::Failure{written.error()};
  }
  return std::optional(Rotation{current, handover.value().new_key,
                                archived_public_key(folder, number), statement, true,
                                next.value().is_protected});
}

Result<Rotation> hand_over(const JobFolder& folder, const OpenedKey& old, std::int64_t number,
                           UtcMicros now) {
  const auto next = new_signing_key();
  if (!next) {
    return store::Failure{next.error()};
  }
  const auto statement = handover_text(old.key, next.value(), now, number);
  if (!statement) {
    return failure(ErrorCode::invalid_input, statement.error().text);
  }
  const PublicKey old_public = old.key.public_key();
  const PublicKey new_public = next.value().public_key();
  // In this order: a statement never names a key whose secret is not on the disk yet.
  auto done = write_secret_key(pending_secret(folder), next.value(), old.passphrase);
  if (done) {
    done = write_file(archived_public_key(folder, number), text_from_public_key(old_public), 0644);
  }
  if (done) {
    done = write_file(handover_file(folder, number), statement.value(), 0644);
  }
  if (done) {
    done = rename_file(pending_secret(folder), folder.secret_key());
  }
  if (done) {
    done = write_file(folder.public_key(), text_from_public_key(new_public), 0644);
  }
  if (!done) {
    return store::Failure{done.error()};
  }
  return Rotation{old_public,
                  new_public,
                  archived_public_key(folder, number),
                  handover_file(folder, number),
                  false,
                  !old.passphrase.empty()};
}

}  // namespace

Result<Rotation> rotate_key(const JobFolder& folder, const PassphraseSource& passphrase,
                            UtcMicros now) {
  const auto current = read_public_key(folder.public_key());
  const auto made = make_keys_folder(folder);
  if (!current || !made) {
    return store::Failure{!current ? current.error() : made.error()};
  }
  const FolderLock lock(keys_folder(folder) / ".lock");
  if (!lock.held()) {
    return store::Failure{rotation_runs(folder)};
  }
  const auto number = number_of(folder, current.value());
  if (!number) {
    return store::Failure{number.error()};
  }
  const auto finished = finish_interrupted(folder, current.value(), number.value());
  if (!finished) {
    return store::Failure{finished.error()};
  }
  if (finished.value()) {
    return *finished.value();
  }
  auto old = open_signing_key(folder, passphrase);
  if (!old) {
    return store::Failure{old.error()};
  }
  const auto rotation = hand_over(folder, old.value(), number.value(), now);
  analysis::evidence::wipe(old.value().passphrase);
  return rotation;
}

Result<Rotation> replace_lost_key(const JobFolder& folder) {
  const auto current = read_public_key(folder.public_key());
  const auto made = make_keys_folder(folder);
  if (!current || !made) {
    return store::Failure{!current ? current.error() : made.error()};
  }
  const FolderLock lock(keys_folder(folder) / ".lock");
  if (!lock.held()) {
    return store::Failure{rotation_runs(folder)};
  }
  const auto secret = check_secret_key(folder);
  if (secret && !secret.value().is_protected) {
    return failure(ErrorCode::invalid_input,
                   folder.secret_key().string() +
                       " is there and good: rotate without --lost, so that it hands over");
  }
  const auto number = number_of(folder, current.value());
  const auto next = new_signing_key();
  if (!number || !next) {
    return store::Failure{!number ? number.error() : next.error()};
  }
  const path kept = archived_public_key(folder, number.value());
  auto done = write_file(kept, text_from_public_key(current.value()), 0644);
  const path set_aside = path(kept).replace_extension(".secret");
  if (done && is_there(folder.secret_key()) && !is_there(set_aside)) {
    done = rename_file(folder.secret_key(), set_aside);
  }
  if (done) {
    done = write_secret_key(folder.secret_key(), next.value(), "");
  }
  if (done) {
    done = write_file(folder.public_key(), text_from_public_key(next.value().public_key()), 0644);
  }
  if (!done) {
    return store::Failure{done.error()};
  }
  return Rotation{current.value(), next.value().public_key(), kept, std::nullopt, false, false};
}

std::vector<path> older_key_files(const JobFolder& folder) {
  std::vector<path> files;
  const std::int64_t highest = highest_archived(folder);
  for (std::int64_t number = 1; number <= highest; ++number) {
    for (const path& file : {archived_public_key(folder, number), handover_file(folder, number)}) {
      if (is_there(file)) {
        files.push_back(file);
      }
    }
  }
  return files;
}

Result<void> seal_key_anew(const JobFolder& folder, const OpenedKey& opened,
                           const std::string& passphrase) {
  const auto made = make_keys_folder(folder);
  if (!made) {
    return made;
  }
  const FolderLock lock(keys_folder(folder) / ".lock");
  if (!lock.held()) {
    return store::Failure{rotation_runs(folder)};
  }
  return write_secret_key(folder.secret_key(), opened.key, passphrase);
}

}  // namespace logger::app
