#include "logger/app/daemon/daemon.hpp"

#include <algorithm>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/post.hpp>
#include <utility>

#include "logger/app/alerts/observed.hpp"
#include "logger/app/daemon/waits.hpp"
#include "logger/store/json_line.hpp"

namespace logger::app {

using store::CommitBatch;
using store::CommitCounts;
using store::Failure;
using store::Result;

namespace {

constexpr std::size_t kWriterQueue = 16;
constexpr Micros kRetryAfterFailedCommit{30'000'000};

std::string job_event_json(const OpenedJob& opened) {
  return store::json_line(
      {{"job_file_sha256", opened.job_sha256_hex}, {"job_file_text", opened.job_text}});
}

}  // namespace

Daemon::Daemon(DaemonPorts ports, OpenedJob opened, std::unique_ptr<store::ReadingStore> writing)
    : ports_(ports),
      writer_(std::move(writing), kWriterQueue),
      heartbeat_(
          ports.service, ports.clock,
          [this](std::function<void()> answered) { return ask_writer(std::move(answered)); }),
      opened_(std::move(opened)),
      collector_(ports.loop, ports.clock, ports.observer, opened_.job, *opened_.store),
      wake_(ports.loop.get_executor()),
      started_at_(ports.clock.utc_now()),
      alerting_(opened_.job, opened_.simulated, started_at_,
                [this](const std::string& line) { log(line, LogLevel::notice); }),
      checkpoints_(opened_.folder, opened_.job.checkpoints, opened_.simulated),
      pushes_(opened_.folder, opened_.job, opened_.simulated),
      lanes_(delivery_ports(), opened_.job.alerts, opened_.folder.root.string()) {}

Daemon::~Daemon() {
  worker_stop_.request_stop();
  worker_.join();
}

void Daemon::start(std::function<void(Result<void>)> finished) {
  boost::asio::co_spawn(
      ports_.loop,
      [this, finished = std::move(finished)]() -> boost::asio::awaitable<void> {
        heartbeat_.start();
        auto result = co_await run();
        heartbeat_.stop();
        finished(std::move(result));
      },
      boost::asio::detached);
}

void Daemon::stop() {
  stopping_ = true;
  request_stop_.request_stop();
  ports_.service.stopping();
  wake_.raise();
}

bool Daemon::busy() const {
  return writer_.pending() > 0 || worker_pending_.load() > 0 || lanes_.busy();
}

boost::asio::awaitable<Result<void>> Daemon::run() {
  WriterWork<Result<bool>> begin = [](store::ReadingStore& store) { return store.begin_session(); };
  const auto unclean = co_await on_writer(std::move(begin));
  if (!unclean) {
    co_return Failure{unclean.error()};
  }
  const auto loaded = load();
  if (!loaded) {
    co_return Failure{loaded.error()};
  }
  const auto checkpoints = checkpoints_.load(*opened_.store, ports_.clock.utc_now());
  if (!checkpoints) {
    log("no checkpoints are signed in this run: " + checkpoints.error().context, LogLevel::warning);
  }
  const auto pushes = pushes_.load(*opened_.store, ports_.clock.utc_now());
  if (!pushes) {
    log("no status pages are pushed in this run: " + pushes.error().context, LogLevel::warning);
  }
  ports_.service.ready();
  if (unclean.value()) {
    log("the last run did not end cleanly; checking the store in the background",
        LogLevel::warning);
    check_passed_ = false;
    boost::asio::co_spawn(ports_.loop, check_store(), boost::asio::detached);
  }
  while (true) {
    const bool last = stopping_;
    const auto done = co_await round();
    note_writing(done);
    if (!done) {
      if (done.error().code == store::ErrorCode::corrupt) {
        co_return Failure{done.error()};
      }
    }
    if (last && !(done && last_round_more_)) {
      break;
    }
    if (!done || !last_round_more_) {
      co_await wait_for_next_round();
    }
  }
  while (lanes_.at_work() || at_checkpoints_ || at_pushes_) {
    co_await wait_at_most(ports_.clock, wake_, kRetryAfterFailedCommit);
  }
  if (fatal_) {
    co_return Failure{*fatal_};
  }
  WriterWork<Result<void>> end = [passed = check_passed_](store::ReadingStore& store) {
    return store.end_session(passed);
  };
  co_return co_await on_writer(std::move(end));
}

// Once when it begins and once when it is over, however often it is tried in between.
void Daemon::note_writing(const Result<void>& round) {
  const std::string fault = round ? "" : round.error().context;
  if (fault == writing_fault_) {
    return;
  }
  const bool has_transmitters =
      std::any_of(opened_.job.boxes.begin(), opened_.job.boxes.end(),
                  [](const JobBox& box) { return box.registers.has_value(); });
  log(fault.empty() ? "writing works again"
                    : fault + "; probe boxes keep their records" +
                          (has_transmitters ? ", readings of transmitters wait in memory" : ""),
      fault.empty() ? LogLevel::notice : LogLevel::error);
  writing_fault_ = fault;
}

Result<void> Daemon::load() {
  const auto events = opened_.store->events(0);
  if (!events) {
    return Failure{events.error()};
  }
  last_event_id_ = events.value().empty() ? 0 : events.value().back().id;
  const auto loaded = collector_.load();
  if (!loaded) {
    return loaded;
  }
  const auto alerts = alerting_.load(*opened_.store, ports_.clock.utc_now());
  if (!alerts) {
    return alerts;
  }
  auto records = job_records_from(*opened_.store);
  if (!records) {
    return Failure{records.error()};
  }
  records_ = std::move(records).value();
  return load_rooms(false);
}

Result<void> Daemon::load_rooms(bool replay_all) {
  std::vector<RoomTracker> rooms;
  for (const JobRoom& room : opened_.job.rooms) {
    auto tracker =
        replay_all ? RoomTracker::rebuild(*opened_.store, opened_.job, room, records_, std::nullopt)
                   : RoomTracker::open(*opened_.store, opened_.job, room, records_);
    if (!tracker) {
      return Failure{tracker.error()};
    }
    rooms.push_back(std::move(tracker).value());
  }
  rooms_ = std::move(rooms);
  return alerting_.take_rooms(*opened_.store, rooms_, ports_.clock.utc_now());
}

// True when a note, a calibration or an import came from another process.
Result<bool> Daemon::people_recorded_something() {
  auto records = job_records_from(*opened_.store);
  const auto events = opened_.store->events(last_event_id_);
  if (!records || !events) {
    return Failure{!records ? records.error() : events.error()};
  }
  if (!events.value().empty()) {
    last_event_id_ = events.value().back().id;
  }
  const bool imported =
      std::any_of(events.value().begin(), events.value().end(),
                  [](const store::Event& event) { return event.kind == "import"; });
  const bool changed = records.value().notes.size() != records_.notes.size() ||
                       records.value().calibrations.size() != records_.calibrations.size();
  records_ = std::move(records).value();
  return imported || changed;
}

boost::asio::awaitable<Result<void>> Daemon::round() {
  const auto changed = people_recorded_something();
  if (!changed) {
    co_return Failure{changed.error()};
  }
  if (changed.value()) {
    const auto loaded = load_rooms(false);
    if (!loaded) {
      co_return Failure{loaded.error()};
    }
  }
  CollectedRound collected = co_await collector_.collect(extent_of_round());
  for (const store::Event& event : collected.events) {
    log(event.subject + ": " + event.kind + " " + event.detail_json);
  }
  feed(collected);
  const bool redated = !collected.redated_boxes.empty();
  CommitBatch batch = batch_from(collected);
  auto counts = co_await commit(std::move(batch));
  if (!counts) {
    // Back to what the store holds, so that nothing is counted twice.
    const auto reloaded = load();
    collector_.hold_back(kRetryAfterFailedCommit);
    co_return Failure{reloaded ? counts.error() : reloaded.error()};
  }
  start_noted_ = true;
  last_round_more_ = collected.more;
  if (redated) {
    log("the clock of this machine was set; earlier readings are dated anew", LogLevel::warning);
    const auto loaded = load_rooms(true);
    if (!loaded) {
      co_return Failure{loaded.error()};
    }
  }
  co_await after_commit(counts.value());
  co_return Result<void>{};
}

void Daemon::feed(const CollectedRound& round) {
  if (round.clock_step.count() != 0) {
    alerting_.follow_clock_step(round.clock_step);
  }
  // In order of time over all boxes, as a replay meets them: the stack's core and the room air may
  // be measured by different ones.
  std::vector<const DatedBoxRecord*> dated;
  for (const DatedBoxRecord& record : round.records) {
    if (record.at) {
      dated.push_back(&record);
    }
  }
  std::stable_sort(dated.begin(), dated.end(),
                   [](const auto* a, const auto* b) { return a->at->at < b->at->at; });
  for (const DatedBoxRecord* record : dated) {
    for (RoomTracker& room : rooms_) {
      alerting_.take_reading(room, room.feed(record->box_id, record->record, record->at->at));
    }
  }
}

CommitBatch Daemon::batch_from(CollectedRound& round) {
  CommitBatch batch;
  batch.boxes = std::move(round.boxes);
  batch.gaps = std::move(round.gaps);
  batch.events = std::move(round.events);
  batch.seen_at = ports_.clock.utc_now();
  if (!start_noted_) {
    batch.events.push_back({0, started_at_, "daemon_start", "", job_event_json(opened_)});
  }
  step_alerts(round, batch);
  const bool redated = !round.redated_boxes.empty();
  for (const RoomTracker& room : rooms_) {
    store::Account account = room.account();
    if (redated) {
      account.fingerprint.clear();  // must be replayed, by whoever comes first
    }
    batch.accounts.push_back(std::move(account));
  }
  return batch;
}

void Daemon::step_alerts(const CollectedRound& round, CommitBatch& batch) {
  const auto boxes = collector_.boxes();
  alerting_.finish_round(
      {rooms_, boxes, records_,
       logger_observation_from(opened_.folder.store_file(), opened_.simulated, round.clock_step),
       ports_.clock.utc_now()},
      batch);
}

boost::asio::awaitable<Result<CommitCounts>> Daemon::commit(CommitBatch batch) {
  WriterWork<Result<CommitCounts>> work = [batch = std::move(batch)](store::ReadingStore& store) {
    return store.commit(batch);
  };
  co_return co_await on_writer(std::move(work));
}

boost::asio::awaitable<void> Daemon::after_commit(const CommitCounts& counts) {
  for (const store::RecordRef& conflict : counts.conflicting) {
    log(conflict.box_id + ": record " + std::to_string(conflict.id.boot) + "/" +
            std::to_string(conflict.id.sequence) +
            " came again with other content; the first one is kept",
        LogLevel::warning);
  }
  if (ports_.committed) {
    ports_.committed();
  }
  co_await collector_.release_committed();
  lanes_.start_due(*opened_.store);
  if (!at_checkpoints_ && !stopping_ && checkpoints_.is_due(ports_.clock.utc_now())) {
    boost::asio::co_spawn(ports_.loop, keep_checkpoints(), boost::asio::detached);
  }
  start_push_if_due();
}

bool Daemon::ask_writer(std::function<void()> answered) {
  return writer_.try_submit([this, answered = std::move(answered)](store::ReadingStore& /*store*/) {
    boost::asio::post(ports_.loop, answered);
  });
}

void Daemon::log(const std::string& line, LogLevel level) {
  ports_.log.write(level, ports_.clock.utc_now(), line);
}

}  // namespace logger::app
