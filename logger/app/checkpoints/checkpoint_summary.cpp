#include "logger/app/checkpoints/checkpoint_summary.hpp"

#include "logger/app/commands/keys/key_files.hpp"
#include "logger/store/evidence_log.hpp"

namespace logger::app {

using analysis::base::rfc3339_from_utc;
using store::Result;

namespace {

std::string counted(std::uint64_t count, const std::string& one, const std::string& many) {
  return std::to_string(count) + ' ' + (count == 1 ? one : many);
}

std::string entries_text(std::uint64_t count) { return counted(count, "entry", "entries"); }

std::string reason_not_to_sign(const OpenedJob& opened) {
  if (opened.simulated && !opened.job.checkpoints) {
    return "under simulated time only where job.json has \"checkpoints\"";
  }
  const auto key = check_secret_key(opened.folder);
  if (!key) {
    return key.error().context;
  }
  return key.value().is_protected ? "the secret key has a passphrase; `dwellog checkpoint " +
                                        opened.folder.root.string() + "` signs one"
                                  : "";
}

}  // namespace

CheckpointSummary summary_from(const KeptCheckpoints& kept, std::uint64_t log_entries) {
  CheckpointSummary summary;
  summary.log_entries = log_entries;
  summary.checkpoints = kept.items.size();
  if (!kept.items.empty()) {
    summary.newest_entries = kept.items.back().checkpoint.head.size;
    summary.newest_issued_at = kept.items.back().checkpoint.issued_at;
  }
  summary.anchored = kept.anchored();
  summary.queued = kept.queued();
  if (const KeptCheckpoint* anchor = newest_anchored(kept)) {
    summary.newest_anchor = {anchor->checkpoint.head.size, anchor->token->stamped_at,
                             anchor->token->authority, anchor->token->verified};
  }
  summary.stamps_unread_because = kept.unread_because;
  summary.faults = kept.faults;
  for (const KeptCheckpoint& item : kept.items) {
    if (!item.token_fault.empty()) {
      summary.faults.push_back(item.token_fault);
    }
  }
  return summary;
}

Result<CheckpointSummary> checkpoint_summary(const OpenedJob& opened) {
  const auto kept = kept_checkpoints(opened.folder, opened.job.checkpoints);
  if (!kept) {
    return store::Failure{kept.error()};
  }
  auto log = store::EvidenceLog::open(opened.folder.store_file().string());
  if (!log) {
    return store::Failure{log.error()};
  }
  const auto head = log.value().head();
  if (!head) {
    return store::Failure{head.error()};
  }
  CheckpointSummary summary = summary_from(kept.value(), head.value().size);
  summary.not_signed_because = reason_not_to_sign(opened);
  return summary;
}

std::vector<std::string> lines_from(const CheckpointSummary& summary) {
  std::vector<std::string> lines;
  lines.push_back(summary.newest_issued_at
                      ? "newest checkpoint: " + entries_text(summary.newest_entries) + ", signed " +
                            rfc3339_from_utc(*summary.newest_issued_at) + "; " +
                            entries_text(summary.entries_above()) + " above it"
                      : "no checkpoint of the evidence log yet: its " +
                            entries_text(summary.log_entries) + " are self-declared");
  if (summary.newest_anchor) {
    const AnchorLine& anchor = *summary.newest_anchor;
    lines.push_back("time stamps: " + std::to_string(summary.anchored) + " of " +
                    std::to_string(summary.checkpoints) + ", the newest over " +
                    entries_text(anchor.entries) + " at " + rfc3339_from_utc(anchor.stamped_at) +
                    " by " + anchor.authority + (anchor.verified ? "" : " (not verified)"));
  }
  if (summary.queued > 0) {
    lines.push_back("without a time stamp: " +
                    counted(summary.queued, "checkpoint", "checkpoints"));
  }
  if (!summary.stamps_unread_because.empty()) {
    lines.push_back("time stamps not read: " + summary.stamps_unread_because);
  }
  if (!summary.not_signed_because.empty()) {
    lines.push_back("dwellog run signs none by itself: " + summary.not_signed_because);
  }
  for (const std::string& fault : summary.faults) {
    lines.push_back("WRONG: " + fault);
  }
  return lines;
}

}  // namespace logger::app
