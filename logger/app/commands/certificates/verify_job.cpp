#include "logger/app/commands/certificates/verify_job.hpp"

#include <algorithm>

#include "analysis/certificate/replay/stamp_lines.hpp"
#include "analysis/evidence/checkpoint.hpp"
#include "analysis/evidence/handover.hpp"
#include "logger/app/checkpoints/log_inspection.hpp"
#include "logger/app/commands/keys/key_files.hpp"
#include "logger/store/evidence_log.hpp"
#include "logger/verify/stamp_files.hpp"

namespace logger::app {

using analysis::certificate::LineKind;
using analysis::certificate::Verification;
using analysis::certificate::VerificationStatus;
using analysis::certificate::VerifyInput;
using analysis::evidence::Checkpoint;
using analysis::evidence::PublicKey;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

struct GivenCheckpoint {
  std::string file;
  Checkpoint checkpoint;
};

// What the options name, read.
struct JobInput {
  std::optional<PublicKey> outside_key;
  std::vector<PublicKey> keys;  // that key and those it handed over to
  std::vector<GivenCheckpoint> since;
  VerifyInput stamped;  // checkpoints and stamps, as a certificate's verification takes them
  bool simulated = false;
};

void add(Verification& result, LineKind kind, std::string text) {
  result.lines.push_back({kind, std::move(text)});
}

Result<std::vector<PublicKey>> keys_from(const PublicKey& first, const std::vector<path>& files) {
  std::vector<analysis::evidence::Handover> steps;
  for (const path& file : files) {
    const auto text = read_file(file);
    if (!text) {
      return store::Failure{text.error()};
    }
    const auto step = analysis::evidence::handover_from_text(text.value());
    if (!step) {
      return failure(ErrorCode::invalid_input, file.string() + ": " + step.error().text);
    }
    steps.push_back(step.value());
  }
  auto keys = analysis::evidence::keys_along(first, steps);
  return keys ? Result<std::vector<PublicKey>>(std::move(keys).value())
              : failure(ErrorCode::invalid_input, "--handover: " + keys.error().text);
}

Result<void> read_checkpoints(const std::vector<path>& files, JobInput& input) {
  for (const path& file : files) {
    auto text = read_file(file);
    if (!text) {
      return store::Failure{text.error()};
    }
    const auto checkpoint = analysis::evidence::checkpoint_from_text(text.value());
    if (!checkpoint) {
      return failure(ErrorCode::invalid_input, file.string() + ": " + checkpoint.error().text);
    }
    input.since.push_back({file.string(), checkpoint.value()});
    input.stamped.earlier_checkpoints.push_back(std::move(text).value());
  }
  std::ranges::stable_sort(input.since, {},
                           [](const GivenCheckpoint& given) { return given.checkpoint.head.size; });
  return {};
}

Result<JobInput> read_input(const verify::VerifyOptions& options) {
  JobInput input;
  if (!options.readings.empty() || !options.log.empty()) {
    return failure(ErrorCode::invalid_input,
                   "--readings and --log belong to a certificate; " + options.certificate.string() +
                       " is a folder, whose whole store is looked through");
  }
  if (!options.key.empty()) {
    const auto key = read_public_key(options.key);
    if (!key) {
      return store::Failure{key.error()};
    }
    input.outside_key = key.value();
    auto keys = keys_from(key.value(), options.handovers);
    if (!keys) {
      return store::Failure{keys.error()};
    }
    input.keys = std::move(keys).value();
  }
  if (const auto read = read_checkpoints(options.since, input); !read) {
    return store::Failure{read.error()};
  }
  auto stamps = verify::stamps_from_files(options.authorities, options.stamps, "");
  if (!stamps) {
    return failure(ErrorCode::invalid_input, stamps.error().text);
  }
  input.stamped.stamps = std::move(stamps).value();
  const JobFolder folder{options.certificate};
  const auto store = store::open_sqlite_store(folder.store_file().string(), {.read_only = true});
  if (!store) {
    return store::Failure{store.error()};
  }
  const auto mark = store.value()->simulated();
  if (!mark) {
    return store::Failure{mark.error()};
  }
  input.simulated = mark.value().value_or(false);
  return input;
}

// Whose the checkpoints are, before anything of the store is believed.
void report_signers(const JobInput& input, Verification& result) {
  for (const auto& [file, checkpoint] : input.since) {
    const std::string signer = analysis::evidence::fingerprint_of(checkpoint.public_key);
    if (checkpoint.simulated != input.simulated) {
      add(result, LineKind::failed,
          file + ": it is of a " + (checkpoint.simulated ? "simulated" : "real") +
              " site, the store is not");
    } else if (!input.outside_key) {
      add(result, LineKind::unproved,
          file + ": whose it is; it is signed with the key " + signer +
              ", and no public key was given from outside");
    } else if (std::ranges::find(input.keys, checkpoint.public_key) == input.keys.end()) {
      add(result, LineKind::failed,
          file + ": it is signed with the key " + signer +
              ", which is neither the one given nor one that this handed over "
              "to");
    } else {
      add(result, LineKind::proved, file + ": it is signed with the key " + signer);
    }
  }
}

void report_findings(const store::LogReport& report, Verification& result) {
  for (std::string& text : finding_texts(report)) {
    add(result, LineKind::failed, std::move(text));
  }
  if (report.sound()) {
    add(result, LineKind::proved,
        "every row of the store stands in its evidence log as it was logged, "
        "and the log in the "
        "root " +
            analysis::evidence::hex_from_digest(report.stored.root) + " over " +
            std::to_string(report.stored.size) + " entries");
  }
  if (auto text = dated_back_text(report)) {
    add(result, LineKind::note, std::move(*text));
  }
}

// Up to where nobody can have written the log anew.
void report_reach(const JobInput& input, const store::LogReport& report, Verification& result) {
  for (const auto& [file, checkpoint] : input.since) {
    if (checkpoint.head.size <= report.proved_entries) {
      add(result, LineKind::proved,
          file + ": the first " + std::to_string(checkpoint.head.size) +
              " entries are those it was signed over, dated " +
              analysis::base::rfc3339_from_utc(checkpoint.issued_at) + " by its signer");
    }
  }
  if (report.stored.size > report.proved_entries) {
    add(result, LineKind::unproved,
        "entries " + std::to_string(report.proved_entries) + " to " +
            std::to_string(report.stored.size - 1) +
            ": self-declared. No checkpoint that was handed over earlier is of "
            "them: whoever holds "
            "the signing key can have written them anew");
  }
  add(result, LineKind::unproved,
      "what the boxes sent, what people noted and the times of the logger's "
      "clock: self-declared; "
      "the log keeps what was written, not whether it was true");
}

VerificationStatus status_of(const JobInput& input, const Verification& result) {
  const bool any_failed = std::ranges::any_of(
      result.lines, [](const auto& line) { return line.kind == LineKind::failed; });
  if (any_failed) {
    return VerificationStatus::not_proved;
  }
  return input.outside_key && !input.since.empty() ? VerificationStatus::proved
                                                   : VerificationStatus::intact_only;
}

}  // namespace

int verify_job(const verify::VerifyOptions& options, const Console& console) {
  const auto input = read_input(options);
  if (!input) {
    return report(console, input.error());
  }
  auto log = store::EvidenceLog::open(JobFolder{options.certificate}.store_file().string());
  if (!log) {
    return report(console, log.error());
  }
  std::vector<analysis::evidence::TreeHead> heads;
  for (const GivenCheckpoint& given : input.value().since) {
    heads.push_back(given.checkpoint.head);
  }
  const auto checked = log.value().check(heads);
  if (!checked) {
    return report(console, checked.error());
  }
  Verification result;
  if (input.value().simulated) {
    add(result, LineKind::note, "SIMULATED SITE: nothing here was measured in a real room");
  }
  report_signers(input.value(), result);
  report_findings(checked.value(), result);
  std::ranges::move(analysis::certificate::checkpoint_stamp_lines(input.value().stamped),
                    std::back_inserter(result.lines));
  report_reach(input.value(), checked.value(), result);
  result.status = status_of(input.value(), result);
  return verify::print_verification(
      result, {.intact = "INTACT, NOTHING GIVEN FROM OUTSIDE TO COMPARE WITH"}, console.out);
}

}  // namespace logger::app
