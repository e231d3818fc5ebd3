#include "logger/app/checkpoints/checkpoint_signing.hpp"

#include <fcntl.h>
#include <stdio.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <vector>

#include "logger/app/commands/keys/key_rotation.hpp"
#include "logger/app/files/open_file.hpp"
#include "logger/store/evidence_log.hpp"

namespace logger::app {

using analysis::evidence::Checkpoint;
using analysis::evidence::hex_from_digest;
using analysis::evidence::PublicKey;
using analysis::evidence::TreeHead;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

// The job's key and those before it; a hand-over's file is no key.
std::vector<PublicKey> keys_of_job(const JobFolder& folder) {
  std::vector<std::filesystem::path> files = older_key_files(folder);
  files.push_back(folder.public_key());
  std::vector<PublicKey> keys;
  for (const std::filesystem::path& file : files) {
    if (file.extension() != ".pub") {
      continue;
    }
    if (const auto key = read_public_key(file)) {
      keys.push_back(key.value());
    }
  }
  return keys;
}

// Why the log does not continue this checkpoint; empty when it does.
Result<std::string> fault_against(const KeptCheckpoint& kept, const TreeHead& head,
                                  store::EvidenceLog& log) {
  const Checkpoint& checkpoint = kept.checkpoint;
  const std::string size = std::to_string(checkpoint.head.size);
  if (checkpoint.head.size > head.size) {
    return kept.file.string() + ": it is of " + size + " entries and the log has " +
           std::to_string(head.size) +
           ": entries were cut off, or an older copy of the store was put back";
  }
  const auto then = log.head_at(checkpoint.head.size);
  if (!then) {
    return store::Failure{then.error()};
  }
  if (then.value().root != checkpoint.head.root) {
    return kept.file.string() + ": the first " + size + " entries have the root " +
           hex_from_digest(then.value().root) + " now, it was " +
           hex_from_digest(checkpoint.head.root) + " when it was signed: they were changed since";
  }
  return std::string();
}

}  // namespace

Result<HeadComparison> compare_head(const JobFolder& folder, bool simulated,
                                    const KeptCheckpoints& kept) {
  auto log = store::EvidenceLog::open(folder.store_file().string());
  if (!log) {
    return store::Failure{log.error()};
  }
  const auto head = log.value().head();
  if (!head) {
    return store::Failure{head.error()};
  }
  const std::vector<PublicKey> keys = keys_of_job(folder);
  HeadComparison comparison{head.value(), kept.faults.empty() ? "" : kept.faults.front()};
  for (const KeptCheckpoint& item : kept.items) {
    if (!comparison.fault.empty()) {
      break;
    }
    if (std::ranges::find(keys, item.checkpoint.public_key) == keys.end()) {
      comparison.fault = item.file.string() + ": it is signed with the key " +
                         fingerprint_of(item.checkpoint.public_key) +
                         ", which is none of this job's";
    } else if (item.checkpoint.simulated != simulated) {
      comparison.fault = item.file.string() + ": it is of a " +
                         (item.checkpoint.simulated ? "simulated" : "real") +
                         " site, and this job is not";
    } else {
      auto fault = fault_against(item, head.value(), log.value());
      if (!fault) {
        return store::Failure{fault.error()};
      }
      comparison.fault = std::move(fault).value();
    }
  }
  return comparison;
}

Result<SignedHead> sign_head(const JobFolder& folder, const TreeHead& head, bool simulated,
                             UtcMicros now, const analysis::evidence::SigningKey& key) {
  auto text = analysis::evidence::sign_checkpoint(head, simulated, now, key);
  if (!text) {
    return failure(ErrorCode::unsupported, text.error().text);
  }
  std::error_code error;
  std::filesystem::create_directories(folder.checkpoints(), error);
  if (error) {
    return failure(ErrorCode::io,
                   "cannot make " + folder.checkpoints().string() + ": " + error.message(),
                   error.value());
  }
  SignedHead result;
  result.checkpoint.file =
      folder.checkpoints() / ("checkpoint-" + std::to_string(head.size) + ".json");
  const auto made = write_new_file(result.checkpoint.file, text.value());
  if (!made) {
    return store::Failure{made.error()};
  }
  result.was_there = !made.value();
  auto kept = read_file(result.checkpoint.file);
  if (!kept) {
    return store::Failure{kept.error()};
  }
  const auto read = analysis::evidence::checkpoint_from_text(kept.value());
  if (!read || read.value().head != head) {
    return failure(ErrorCode::unavailable, result.checkpoint.file.string() +
                                               ": another program wrote another one meanwhile");
  }
  result.checkpoint.checkpoint = read.value();
  result.checkpoint.text = std::move(kept).value();
  return result;
}

namespace {

// False, with errno, when there is one of that name already or it can't be made.
bool name_if_new(const std::filesystem::path& from, const std::filesystem::path& to) {
  if (::renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), RENAME_NOREPLACE) == 0) {
    return true;
  }
  // Not every file system can do that at once, as those over a network; most of them know links.
  return errno == EINVAL && ::link(from.c_str(), to.c_str()) == 0 && ::unlink(from.c_str()) == 0;
}

}  // namespace

Result<bool> write_new_file(const std::filesystem::path& file, std::string_view bytes) {
  // Of this process alone, so that two that write at once do not mix their bytes.
  const std::string temporary = file.string() + "." + std::to_string(::getpid()) + ".part";
  const auto written = write_file(temporary, bytes, 0644);
  if (!written) {
    return store::Failure{written.error()};
  }
  const bool is_new = name_if_new(temporary, file);
  if (!is_new) {
    const store::Failure fault = system_failure("cannot write " + file.string());
    ::unlink(temporary.c_str());
    return fault.error.os_errno == EEXIST ? Result<bool>(false) : Result<bool>(fault);
  }
  const auto synced = sync_folder(file.parent_path());
  return synced ? Result<bool>(true) : store::Failure{synced.error()};
}

}  // namespace logger::app
