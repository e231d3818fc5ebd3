// The parts of the daemon that wait: for the next round, for the command that delivers a message,
// for the check of the store.
#include <algorithm>
#include <boost/asio/post.hpp>
#include <utility>

#include "logger/app/daemon/daemon.hpp"
#include "logger/app/daemon/waits.hpp"
#include "logger/notify/delivery.hpp"
#include "logger/store/store_check.hpp"

namespace logger::app {

using analysis::alerts::Alert;
using analysis::alerts::Phase;
using store::Result;

boost::asio::awaitable<Result<void>> Daemon::on_worker(std::function<Result<void>()> work) {
  auto crossing = std::make_shared<Crossing<Result<void>>>(ports_.loop.get_executor());
  ++worker_pending_;
  boost::asio::post(worker_, [this, work = std::move(work), crossing] {
    crossing->hand_over(ports_.loop, work());
    --worker_pending_;
  });
  co_return co_await crossing->result();
}

boost::asio::awaitable<void> Daemon::wait_for_next_round() {
  wake_.clear();
  if (!stopping_) {
    co_await wait_at_most(ports_.clock, wake_, until_next_round());
  }
}

// While a rule waits for its for-duration, the next sample matters at once. The last round asks
// every box; what is left of a backlog then is fetched without asking the others again.
Collector::Extent Daemon::extent_of_round() const {
  if (stopping_ && !last_round_more_) {
    return Collector::Extent::all;
  }
  const bool pending = std::any_of(alerts_.begin(), alerts_.end(), [](const Alert& alert) {
    return alert.state.phase == Phase::pending;
  });
  return pending ? Collector::Extent::hurried : Collector::Extent::due;
}

Micros Daemon::until_next_round() const {
  Micros wait = collector_.until_due(extent_of_round());
  if (!writing_fault_.empty()) {
    wait = std::max(wait, Micros{1'000'000});
  }
  if (next_attempt_at_) {
    wait = std::min(wait, std::max(*next_attempt_at_ - ports_.clock.utc_now(), Micros{1'000'000}));
  }
  const auto checkpoints_at = checkpoints_.due_at();
  if (checkpoints_at && !at_checkpoints_) {
    wait = std::min(wait, std::max(*checkpoints_at - ports_.clock.utc_now(), Micros{1'000'000}));
  }
  return wait;
}

// In order, each until it succeeded; the first failure ends the turn.
boost::asio::awaitable<void> Daemon::deliver_due() {
  if (opened_.job.alerts.command.empty()) {
    co_return;
  }
  delivering_ = true;
  next_attempt_at_.reset();
  const auto messages = opened_.store->undelivered_messages();
  if (messages) {
    for (const store::Message& message : messages.value()) {
      if (message.next_attempt_at && *message.next_attempt_at > ports_.clock.utc_now()) {
        next_attempt_at_ = message.next_attempt_at;
        break;
      }
      if (!co_await deliver(message)) {
        break;
      }
    }
  } else {
    log(messages.error().context, LogLevel::error);
  }
  delivering_ = false;
  if (stopping_) {
    wake_.raise();
  }
}

boost::asio::awaitable<bool> Daemon::deliver(store::Message message) {
  // One message a line, so that a program that only appends keeps them apart.
  std::function<Result<void>()> run_command = [this, line = message.payload_json + "\n"] {
    return notify::deliver_by_command(opened_.job.alerts.command, line,
                                      std::chrono::seconds(opened_.job.alerts.command_timeout_s));
  };
  const auto delivered = co_await on_worker(std::move(run_command));
  const UtcMicros now = ports_.clock.utc_now();
  ++message.attempts;
  if (delivered) {
    message.delivered_at = now;
    message.next_attempt_at.reset();
    message.last_error.clear();
  } else {
    message.next_attempt_at = notify::next_attempt_at(message.attempts, now);
    message.last_error = delivered.error().context;
    next_attempt_at_ = message.next_attempt_at;
    log("alert " + message.alert_key + " not delivered, attempt " +
            std::to_string(message.attempts) + ": " + message.last_error,
        LogLevel::warning);
  }
  WriterWork<Result<void>> store_attempt = [message](store::ReadingStore& store) {
    return store.update_message(message);
  };
  const auto stored = co_await on_writer(std::move(store_attempt));
  if (!stored) {
    log(stored.error().context, LogLevel::error);
  }
  co_return delivered.has_value() && stored.has_value();
}

boost::asio::awaitable<void> Daemon::keep_checkpoints() {
  at_checkpoints_ = true;
  auto turn = std::make_shared<DutyTurn>();
  std::function<Result<void>()> work = [this, turn, now = ports_.clock.utc_now(),
                                        stop = stamp_stop_.get_token()] {
    *turn = checkpoints_.work(now, stop);
    return Result<void>{};
  };
  static_cast<void>(co_await on_worker(std::move(work)));
  DutyReport report = checkpoints_.take(*turn, ports_.clock.utc_now());
  for (const std::string& line : report.lines) {
    log(line);
  }
  for (const std::string& line : report.warnings) {
    log(line, LogLevel::warning);
  }
  if (!report.events.empty()) {
    store::CommitBatch batch;
    batch.events = std::move(report.events);
    const auto counts = co_await commit(std::move(batch));
    if (!counts) {
      log(counts.error().context, LogLevel::error);
    }
  }
  at_checkpoints_ = false;
  if (stopping_) {
    wake_.raise();
  }
}

boost::asio::awaitable<void> Daemon::check_store() {
  const std::string path = opened_.folder.store_file().string();
  std::function<Result<void>()> check = [path, stop = worker_stop_.get_token()] {
    return store::quick_check(path, stop);
  };
  const auto checked = co_await on_worker(std::move(check));
  check_passed_ = checked.has_value();
  if (checked) {
    log("the store is sound");
    co_return;
  }
  log(checked.error().context, LogLevel::error);
  if (checked.error().code == store::ErrorCode::corrupt) {
    fatal_ = checked.error();
    stop();
  }
}

}  // namespace logger::app
