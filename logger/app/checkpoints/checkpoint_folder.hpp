// The signed checkpoints of a job, JOBDIR/checkpoints/checkpoint-<size>.json, and the time stamps
// beside them, checkpoint-<size>.tsr. A checkpoint without a token is queued for one. Any thread.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "analysis/evidence/checkpoint.hpp"
#include "logger/app/commands/job_folder.hpp"

namespace logger::app {

// A time stamp of a checkpoint's bytes.
struct KeptToken {
  std::string reply_der;  // the authority's TimeStampResp, as it came
  UtcMicros stamped_at;   // as it says
  std::string authority;
  bool verified = false;  // under the certificates that job.json names
};

struct KeptCheckpoint {
  std::filesystem::path file;
  std::string text;  // the signed line with its line end: what is stamped
  analysis::evidence::Checkpoint checkpoint;
  std::optional<KeptToken> token;
  std::string token_fault;    // why the file beside it is no token of it
  bool token_unread = false;  // there is one, but nothing to read it with

  [[nodiscard]] std::filesystem::path token_file() const;
  [[nodiscard]] bool is_queued() const { return !token && token_fault.empty() && !token_unread; }
};

struct KeptCheckpoints {
  std::vector<KeptCheckpoint> items;  // by size
  std::vector<std::string> faults;    // of files that are no checkpoints
  // Why tokens were left unread, in one line: a build without time stamps, certificates that
  // job.json names and that can't be read. Empty = none was.
  std::string unread_because;

  [[nodiscard]] std::size_t anchored() const;
  [[nodiscard]] std::size_t queued() const;
};

// A folder that is not there holds none. A token that does not stamp its checkpoint, or does not
// verify where job.json names certificates, is a token_fault. Errors: of reading the folder.
[[nodiscard]] store::Result<KeptCheckpoints> kept_checkpoints(
    const JobFolder& folder, const std::optional<JobCheckpoints>& settings);

// The one of the largest size that has a token; nullptr when none has. For `log.anchor` of a
// certificate: `text` without its line end, and `token`.
[[nodiscard]] const KeptCheckpoint* newest_anchored(const KeptCheckpoints& kept);

// The certificates that job.json names, PEM; empty where it names none. Errors: of the file, and
// invalid_input when it holds no certificate (in a build that can tell).
[[nodiscard]] store::Result<std::string> authority_certificates(
    const JobFolder& folder, const std::optional<JobCheckpoints>& settings);

}  // namespace logger::app
