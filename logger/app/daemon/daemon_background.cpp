// The parts of the daemon that wait: for the next round, for what is delivered, for the check of
// the store.
#include <algorithm>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/post.hpp>
#include <utility>

#include "logger/app/daemon/daemon.hpp"
#include "logger/app/daemon/waits.hpp"
#include "logger/store/store_check.hpp"

namespace logger::app {

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
  return alerting_.waits_for_sample() ? Collector::Extent::hurried : Collector::Extent::due;
}

Micros Daemon::until_next_round() const {
  Micros wait = collector_.until_due(extent_of_round());
  if (!writing_fault_.empty()) {
    wait = std::max(wait, Micros{1'000'000});
  }
  for (const auto& at : {lanes_.next_at(), alerting_.next_telling_at()}) {
    if (at) {
      wait = std::min(wait, std::max(*at - ports_.clock.utc_now(), Micros{1'000'000}));
    }
  }
  for (const auto& at : {at_checkpoints_ ? std::nullopt : checkpoints_.due_at(),
                         at_pushes_ ? std::nullopt : pushes_.due_at()}) {
    if (at) {
      wait = std::min(wait, std::max(*at - ports_.clock.utc_now(), Micros{1'000'000}));
    }
  }
  return wait;
}

DeliveryLanes::Ports Daemon::delivery_ports() {
  return {ports_.loop, ports_.clock,
          [this](const std::string& line) { log(line, LogLevel::warning); },
          [this](std::vector<store::Delivery> deliveries) {
            return keep_deliveries(std::move(deliveries));
          },
          [this] {
            if (stopping_) {
              wake_.raise();
            }
          }};
}

boost::asio::awaitable<Result<void>> Daemon::keep_deliveries(
    std::vector<store::Delivery> deliveries) {
  WriterWork<Result<void>> work = [deliveries = std::move(deliveries)](store::ReadingStore& store) {
    for (const store::Delivery& delivery : deliveries) {
      const auto kept = store.update_delivery(delivery);
      if (!kept) {
        return kept;
      }
    }
    return Result<void>{};
  };
  co_return co_await on_writer(std::move(work));
}

boost::asio::awaitable<void> Daemon::keep_checkpoints() {
  at_checkpoints_ = true;
  auto turn = std::make_shared<DutyTurn>();
  std::function<Result<void>()> work = [this, turn, now = ports_.clock.utc_now(),
                                        stop = request_stop_.get_token()] {
    *turn = checkpoints_.work(now, stop);
    return Result<void>{};
  };
  static_cast<void>(co_await on_worker(std::move(work)));
  co_await write_report(checkpoints_.take(*turn, ports_.clock.utc_now()));
  at_checkpoints_ = false;
  if (stopping_) {
    wake_.raise();
  }
}

boost::asio::awaitable<void> Daemon::write_report(DutyReport report) {
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
}

void Daemon::start_push_if_due() {
  const UtcMicros now = ports_.clock.utc_now();
  if (!pushes_.is_wanted() || at_pushes_ || stopping_) {
    return;
  }
  std::string verdicts;
  for (const auto& [room_id, assessment] : alerting_.assessments()) {
    verdicts += room_id + ' ' + std::string(name_of(assessment.verdict)) + '\n';
  }
  pushes_.note_verdicts(verdicts, now);
  if (pushes_.is_due(now)) {
    boost::asio::co_spawn(ports_.loop, push_status(), boost::asio::detached);
  }
}

boost::asio::awaitable<void> Daemon::push_status() {
  at_pushes_ = true;
  auto turn = std::make_shared<PushTurn>();
  std::function<Result<void>()> work = [this, turn, now = ports_.clock.utc_now(),
                                        stop = request_stop_.get_token()] {
    *turn = pushes_.work(now, stop);
    return Result<void>{};
  };
  static_cast<void>(co_await on_worker(std::move(work)));
  co_await write_report(pushes_.take(*turn, ports_.clock.utc_now()));
  at_pushes_ = false;
  wake_.raise();
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
