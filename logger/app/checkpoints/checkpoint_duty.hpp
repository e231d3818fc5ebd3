// What `dwellog run` does about checkpoints: when to sign the log's head, when to ask for time
// stamps, and what of it to say. The event loop asks is_due, hands work() to the worker thread, and
// gives its outcome to take(); work() touches no state of this, so both may run at once.
#pragma once

#include <optional>
#include <stop_token>
#include <string>
#include <vector>

#include "logger/app/checkpoints/token_requests.hpp"
#include "logger/app/daemon/duty_report.hpp"

namespace logger::app {

// What one piece of work came to.
struct DutyTurn {
  bool signing_was_due = false;
  std::string signed_line;  // which file over how many entries; empty = none was signed
  std::string refusal;      // why the log does not continue what was signed
  std::string fault;        // why nothing could be done about it, as a full disk
  bool key_is_protected = false;
  TokenTurn tokens;
  std::size_t queued = 0;  // checkpoints without a token, afterwards
  bool stopped = false;    // told to end midway: what failed says nothing
};

class CheckpointDuty {
 public:
  CheckpointDuty(JobFolder folder, std::optional<JobCheckpoints> settings, bool simulated);

  // Once, before anything else: the next signing counts from the newest checkpoint file, and
  // whether time stamps fail from the newest event about it. Errors: of the folder, of the store.
  store::Result<void> load(store::ReadingStore& store, UtcMicros now);

  [[nodiscard]] bool is_due(UtcMicros now) const;
  // nullopt = there is nothing to wait for.
  [[nodiscard]] std::optional<UtcMicros> due_at() const;

  // Blocks: reads the folder and the store, signs where that is due and the key has no passphrase,
  // asks for tokens. For the worker thread.
  [[nodiscard]] DutyTurn work(UtcMicros now, const std::stop_token& stop) const;

  [[nodiscard]] DutyReport take(const DutyTurn& turn, UtcMicros now);

 private:
  [[nodiscard]] bool asks_for_stamps() const;
  void sign_if_possible(KeptCheckpoints& kept, UtcMicros now, DutyTurn& turn) const;
  void take_signing(const DutyTurn& turn, UtcMicros now, DutyReport& report);
  void take_tokens(const DutyTurn& turn, UtcMicros now, DutyReport& report);

  JobFolder folder_;
  std::optional<JobCheckpoints> settings_;
  bool simulated_;
  std::optional<UtcMicros> sign_at_;  // nullopt = never in this run
  std::optional<UtcMicros> ask_at_;   // nullopt = nothing is queued
  int failed_attempts_ = 0;           // since a token came
  bool stamps_fail_ = false;          // as the store's events say
  bool said_protected_ = false;
  std::string said_refusal_;
  std::string said_fault_;
};

}  // namespace logger::app
