#include "logger/app/checkpoints/checkpoint_folder.hpp"

#include <algorithm>

#include "logger/verify/token_check.hpp"

namespace logger::app {

using analysis::evidence::Fault;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

bool is_checkpoint_name(const std::string& name) {
  return name.starts_with("checkpoint-") && name.ends_with(".json");
}

// Why the token beside it does not count; empty when there is none or it counts.
std::string take_token(KeptCheckpoint& kept, const std::string& authorities_pem) {
  auto reply = read_file(kept.token_file());
  if (!reply) {
    return reply.error().code == ErrorCode::not_found ? "" : reply.error().context;
  }
  const bool verified = !authorities_pem.empty();
  const verify::TokenResult token = verified
                                        ? verify::verified_token(reply.value(), authorities_pem)
                                        : verify::token_as_it_says(reply.value());
  if (!token) {
    return kept.token_file().string() + ": " + token.error().text;
  }
  if (token.value().digest != analysis::evidence::sha256_from_bytes(kept.text)) {
    return kept.token_file().string() + ": it stamps something else than " + kept.file.string();
  }
  kept.token =
      KeptToken{std::move(reply).value(), token.value().at, token.value().authority, verified};
  return "";
}

Result<KeptCheckpoint> checkpoint_from_file(const std::filesystem::path& file) {
  auto text = read_file(file);
  if (!text) {
    return store::Failure{text.error()};
  }
  const auto checkpoint = analysis::evidence::checkpoint_from_text(text.value());
  if (!checkpoint) {
    return failure(ErrorCode::corrupt, file.string() + ": " + checkpoint.error().text);
  }
  const std::string size = std::to_string(checkpoint.value().head.size);
  if (file.filename() != "checkpoint-" + size + ".json") {
    return failure(ErrorCode::corrupt, file.string() + ": it is of " + size +
                                           " entries, which is not what its name says");
  }
  return KeptCheckpoint{file, std::move(text).value(), checkpoint.value(), std::nullopt, "", false};
}

}  // namespace

std::filesystem::path KeptCheckpoint::token_file() const {
  return std::filesystem::path(file).replace_extension(".tsr");
}

std::size_t KeptCheckpoints::anchored() const {
  return static_cast<std::size_t>(std::ranges::count_if(
      items, [](const KeptCheckpoint& kept) { return kept.token.has_value(); }));
}

std::size_t KeptCheckpoints::queued() const {
  return static_cast<std::size_t>(
      std::ranges::count_if(items, [](const KeptCheckpoint& kept) { return kept.is_queued(); }));
}

Result<std::string> authority_certificates(const JobFolder& folder,
                                           const std::optional<JobCheckpoints>& settings) {
  if (!settings || settings->authority_certificates.empty()) {
    return std::string();
  }
  const std::filesystem::path file = folder.root / settings->authority_certificates;
  const std::string what = "job.json: checkpoints.authority_certificates: ";
  auto pem = read_file(file);
  if (!pem) {
    return failure(pem.error().code, what + pem.error().context, pem.error().os_errno);
  }
  if (!verify::time_stamps_left_out().empty()) {
    return pem;
  }
  const auto readable = verify::authorities_are_readable(pem.value());
  return readable ? pem
                  : failure(ErrorCode::invalid_input,
                            what + file.string() + ": " + readable.error().text);
}

Result<KeptCheckpoints> kept_checkpoints(const JobFolder& folder,
                                         const std::optional<JobCheckpoints>& settings) {
  KeptCheckpoints kept;
  std::error_code error;
  std::filesystem::directory_iterator entry(folder.checkpoints(), error);
  if (error == std::errc::no_such_file_or_directory) {
    return kept;
  }
  const auto authorities = authority_certificates(folder, settings);
  const std::string unreadable = !verify::time_stamps_left_out().empty()
                                     ? std::string(verify::time_stamps_left_out())
                                 : authorities ? ""
                                               : authorities.error().context;
  for (; !error && entry != std::filesystem::directory_iterator(); entry.increment(error)) {
    if (!is_checkpoint_name(entry->path().filename().string())) {
      continue;
    }
    auto read = checkpoint_from_file(entry->path());
    if (!read) {
      kept.faults.push_back(read.error().context);
      continue;
    }
    if (unreadable.empty()) {
      read.value().token_fault = take_token(read.value(), authorities.value());
    } else if (std::error_code none; std::filesystem::exists(read.value().token_file(), none)) {
      read.value().token_unread = true;
      kept.unread_because = unreadable;
    }
    kept.items.push_back(std::move(read).value());
  }
  if (error) {
    return failure(ErrorCode::io,
                   "cannot list " + folder.checkpoints().string() + ": " + error.message(),
                   error.value());
  }
  std::ranges::sort(kept.items, {},
                    [](const KeptCheckpoint& item) { return item.checkpoint.head.size; });
  std::ranges::sort(kept.faults);
  return kept;
}

const KeptCheckpoint* newest_anchored(const KeptCheckpoints& kept) {
  const auto found =
      std::find_if(kept.items.rbegin(), kept.items.rend(),
                   [](const KeptCheckpoint& item) { return item.token.has_value(); });
  return found == kept.items.rend() ? nullptr : &*found;
}

}  // namespace logger::app
