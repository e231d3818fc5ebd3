// checkpoint: signs the head of the evidence log, and has what was signed stamped.
#include <filesystem>
#include <ostream>

#include "logger/app/checkpoints/checkpoint_signing.hpp"
#include "logger/app/checkpoints/checkpoint_summary.hpp"
#include "logger/app/checkpoints/log_inspection.hpp"
#include "logger/app/checkpoints/token_requests.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/keys/key_files.hpp"

namespace logger::app {

using store::ErrorCode;
using store::Result;

namespace {

// Prints what was stamped and what still waits, and why.
void print_stamps(const TokenTurn& turn, const KeptCheckpoints& kept, const OpenedJob& opened,
                  std::ostream& out) {
  for (const std::string& line : turn.anchored) {
    out << "time stamp   " << line << '\n';
  }
  out << "anchored     " << kept.anchored() << " of " << kept.items.size() << " checkpoints\n";
  if (kept.queued() > 0) {
    const bool asks = opened.job.checkpoints && !opened.job.checkpoints->time_stamp_url.empty();
    out << "queued       " << kept.queued() << ": "
        << turn.fault.value_or(asks ? "not asked"
                                    : "job.json names no \"time_stamp_url\" in \"checkpoints\"")
        << '\n';
  }
  if (!kept.unread_because.empty()) {
    out << "not read     " << kept.unread_because << '\n';
  }
  for (const KeptCheckpoint& item : kept.items) {
    if (!item.token_fault.empty()) {
      out << "no time stamp  " << item.token_fault << '\n';
    }
  }
}

// The head of a log that was looked through whole and continues all that was signed.
Result<LogInspection> inspected_for_signing(const OpenedJob& opened, const KeptCheckpoints& kept) {
  const auto mark = opened.store->simulated();
  if (!mark) {
    return store::Failure{mark.error()};
  }
  if (!mark.value()) {
    return store::failure(ErrorCode::invalid_input,
                          opened.folder.root.string() +
                              ": no readings yet, so there is nothing to sign; `dwellog run` or "
                              "`dwellog import` brings some");
  }
  return inspect_log(opened.folder, opened.simulated, kept);
}

int hand_over(const path& output, const std::string& text, const Console& console) {
  const auto written = write_new_file(output, text);
  if (!written) {
    return report(console, written.error());
  }
  if (!written.value()) {
    return report(console, {ErrorCode::invalid_input,
                            output.string() + " is there already; nothing was written over it", 0});
  }
  console.out << "copy         " << output.string() << '\n';
  return kExitDone;
}

}  // namespace

int checkpoint(const CheckpointOptions& options, const Console& console) {
  std::error_code error;
  if (!options.output.empty() && std::filesystem::exists(options.output, error)) {
    return refuse(console, options.output.string() +
                               " is there already; expected a new file; nothing was signed");
  }
  auto opened = open_job(options.job_dir, false);
  if (!opened) {
    return report(console, opened.error());
  }
  const OpenedJob& job = opened.value();
  auto kept = kept_checkpoints(job.folder, job.job.checkpoints);
  if (!kept) {
    return report(console, kept.error());
  }
  const auto inspected = inspected_for_signing(job, kept.value());
  if (!inspected) {
    return report(console, inspected.error());
  }
  if (!inspected.value().findings.empty()) {
    for (const std::string& finding : inspected.value().findings) {
      console.err << "dwellog: " << finding << '\n';
    }
    console.err << "dwellog: nothing was signed: the log is not the one that it was\n";
    return kExitNot;
  }
  auto key = open_signing_key(job.folder, passphrase_source(options.passphrase_file));
  if (!key) {
    return report(console, key.error());
  }
  analysis::evidence::wipe(key.value().passphrase);
  const auto head =
      sign_head(job.folder, inspected.value().head, job.simulated, job.now, key.value().key);
  if (!head) {
    return report(console, head.error());
  }
  if (job.simulated) {
    console.out << "SIMULATED SITE\n";
  }
  console.out << "checkpoint   " << head.value().checkpoint.file.string() << " ("
              << inspected.value().head.size << " entries"
              << (head.value().was_there ? ", there already)\n" : ")\n");
  kept = kept_checkpoints(job.folder, job.job.checkpoints);
  if (!kept) {
    return report(console, kept.error());
  }
  const TokenTurn turn =
      fetch_queued_tokens(job.folder, job.job.checkpoints, kept.value(), kept.value().items.size());
  print_stamps(turn, kept.value(), job, console.out);
  return options.output.empty() ? kExitDone
                                : hand_over(options.output, head.value().checkpoint.text, console);
}

}  // namespace logger::app
