#include "logger/app/checkpoints/checkpoint_duty.hpp"

#include <algorithm>

#include "logger/app/checkpoints/checkpoint_signing.hpp"
#include "logger/app/commands/keys/key_files.hpp"
#include "logger/notify/delivery.hpp"
#include "logger/store/json_line.hpp"

namespace logger::app {

using store::Result;

namespace {

constexpr const char* kStampsFail = "time_stamps_failing";
constexpr const char* kStampsWork = "time_stamps_working";
constexpr const char* kRefused = "checkpoint_refused";
constexpr Micros kRetryAfterFault{600'000'000};
// So that a long queue does not keep the worker thread from delivering alerts.
constexpr std::size_t kTokensATurn = 5;
constexpr Micros kBetweenTurns{1'000'000};

Micros period_of(const std::optional<JobCheckpoints>& settings) {
  return settings.value_or(JobCheckpoints{}).every;
}

// Called only where the key is bare, so nobody is asked.
Result<std::string> no_passphrase(const std::string& /*prompt*/) {
  return store::failure(store::ErrorCode::invalid_input, "the secret key has a passphrase now");
}

}  // namespace

CheckpointDuty::CheckpointDuty(JobFolder folder, std::optional<JobCheckpoints> settings,
                               bool simulated)
    : folder_(std::move(folder)), settings_(std::move(settings)), simulated_(simulated) {}

bool CheckpointDuty::asks_for_stamps() const {
  return settings_ && !settings_->time_stamp_url.empty();
}

Result<void> CheckpointDuty::load(store::ReadingStore& store, UtcMicros now) {
  if (simulated_ && !settings_) {
    return {};
  }
  const auto kept = kept_checkpoints(folder_, std::nullopt);
  const auto events = store.events(0);
  if (!kept || !events) {
    return store::Failure{!kept ? kept.error() : events.error()};
  }
  sign_at_ = now;
  if (!kept.value().items.empty()) {
    // A checkpoint of the future, from before the clock was set back, must not put it off.
    const UtcMicros issued = kept.value().items.back().checkpoint.issued_at;
    sign_at_ = std::min(issued, now) + period_of(settings_);
  }
  for (const store::Event& event : events.value()) {
    if (event.kind == kStampsFail || event.kind == kStampsWork) {
      stamps_fail_ = event.kind == kStampsFail;
    }
  }
  if (asks_for_stamps() && !kept.value().items.empty()) {
    ask_at_ = now;
  }
  return {};
}

std::optional<UtcMicros> CheckpointDuty::due_at() const {
  return sign_at_ && ask_at_ ? std::min(sign_at_, ask_at_) : sign_at_ ? sign_at_ : ask_at_;
}

bool CheckpointDuty::is_due(UtcMicros now) const {
  const auto at = due_at();
  return at && now >= *at;
}

void CheckpointDuty::sign_if_possible(KeptCheckpoints& kept, UtcMicros now, DutyTurn& turn) const {
  const auto known = check_secret_key(folder_);
  turn.key_is_protected = known && known.value().is_protected;
  if (!known || turn.key_is_protected) {
    turn.fault = known ? "" : known.error().context;
    return;
  }
  const auto compared = compare_head(folder_, simulated_, kept);
  if (!compared) {
    turn.fault = compared.error().context;
    return;
  }
  turn.refusal = compared.value().fault;
  const bool nothing_new =
      !kept.items.empty() && kept.items.back().checkpoint.head == compared.value().head;
  if (!turn.refusal.empty() || nothing_new) {
    return;
  }
  const auto key = open_signing_key(folder_, no_passphrase);
  if (!key) {
    turn.fault = key.error().context;
    return;
  }
  auto made = sign_head(folder_, compared.value().head, simulated_, now, key.value().key);
  if (!made) {
    turn.fault = made.error().context;
    return;
  }
  turn.signed_line = made.value().checkpoint.file.filename().string() + " signed";
  kept.items.push_back(std::move(made).value().checkpoint);
}

DutyTurn CheckpointDuty::work(UtcMicros now, const std::stop_token& stop) const {
  DutyTurn turn;
  turn.signing_was_due = sign_at_ && now >= *sign_at_;
  auto kept = kept_checkpoints(folder_, settings_);
  if (!kept) {
    turn.fault = kept.error().context;
    return turn;
  }
  if (turn.signing_was_due) {
    sign_if_possible(kept.value(), now, turn);
  }
  turn.tokens = fetch_queued_tokens(folder_, settings_, kept.value(), kTokensATurn, stop);
  turn.queued = kept.value().queued();
  turn.stopped = stop.stop_requested();
  return turn;
}

void CheckpointDuty::take_signing(const DutyTurn& turn, UtcMicros now, DutyReport& report) {
  if (turn.signing_was_due) {
    const Micros period = period_of(settings_);
    sign_at_ = now + (turn.fault.empty() ? period : std::min(period, kRetryAfterFault));
  }
  if (!turn.signed_line.empty()) {
    report.lines.push_back(turn.signed_line);
  }
  if (turn.key_is_protected && !said_protected_) {
    said_protected_ = true;
    report.lines.push_back(
        "no checkpoint is signed by itself: the secret key has a passphrase; `dwellog checkpoint " +
        folder_.root.string() + "` signs one");
  }
  if (!turn.fault.empty() && turn.fault != said_fault_) {
    report.warnings.push_back("no checkpoint was signed: " + turn.fault);
  }
  said_fault_ = turn.fault;
  if (!turn.refusal.empty() && turn.refusal != said_refusal_) {
    report.warnings.push_back("no checkpoint is signed, the log is not the one that it was: " +
                              turn.refusal);
    report.events.push_back({0, now, kRefused, "", store::json_line({{"reason", turn.refusal}})});
  }
  if (turn.signing_was_due) {
    said_refusal_ = turn.refusal;
  }
}

void CheckpointDuty::take_tokens(const DutyTurn& turn, UtcMicros now, DutyReport& report) {
  for (const std::string& line : turn.tokens.anchored) {
    report.lines.push_back("time stamp: " + line);
  }
  if (turn.tokens.fault) {
    ++failed_attempts_;
    ask_at_ = notify::next_attempt_at(failed_attempts_, now);
    if (!stamps_fail_) {
      stamps_fail_ = true;
      report.warnings.push_back("no time stamp; " + std::to_string(turn.queued) +
                                " checkpoint(s) wait for one: " + *turn.tokens.fault);
      report.events.push_back(
          {0, now, kStampsFail, "",
           store::json_line({{"reason", *turn.tokens.fault}, {"queued", turn.queued}})});
    }
    return;
  }
  ask_at_.reset();
  if (asks_for_stamps() && turn.queued > 0) {
    ask_at_ = now + kBetweenTurns;
  }
  failed_attempts_ = 0;
  if (stamps_fail_ && !turn.tokens.anchored.empty()) {
    stamps_fail_ = false;
    report.lines.emplace_back("time stamps work again");
    report.events.push_back(
        {0, now, kStampsWork, "", store::json_line({{"stamped", turn.tokens.anchored.size()}})});
  }
}

DutyReport CheckpointDuty::take(const DutyTurn& turn, UtcMicros now) {
  DutyReport report;
  take_signing(turn, now, report);
  if (!turn.stopped || !turn.tokens.fault) {
    take_tokens(turn, now, report);
  }
  return report;
}

}  // namespace logger::app
