// `dwellog run`: collects, accounts, alerts, commits, releases, delivers, for one job, until told
// to stop. Losing this process at any moment loses nothing: what is not committed is still in the
// boxes, and everything derived is committed together with the records it was derived from.
#pragma once

#include <atomic>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/thread_pool.hpp>
#include <functional>
#include <memory>
#include <optional>
#include <stop_token>
#include <string>
#include <vector>

#include "logger/app/alerts/alerting.hpp"
#include "logger/app/alerts/delivery_lanes.hpp"
#include "logger/app/checkpoints/checkpoint_duty.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/daemon/collector.hpp"
#include "logger/app/daemon/service/daemon_log.hpp"
#include "logger/app/daemon/service/heartbeat.hpp"
#include "logger/app/daemon/waits.hpp"
#include "logger/app/push/status_push.hpp"
#include "logger/app/room/room_tracker.hpp"
#include "logger/ingest/signal.hpp"
#include "logger/store/store_writer.hpp"

namespace logger::app {

struct DaemonPorts {
  boost::asio::io_context& loop;
  ingest::Clock& clock;
  ingest::LineObserver* observer = nullptr;  // simulated time only
  DaemonLog& log;
  ServiceManager& service;
  std::function<void()> committed{};  // called after each commit; must not block
};

class Daemon {
 public:
  // `opened.store` is the read-only connection; `writing` the one that the writer thread takes.
  Daemon(DaemonPorts ports, OpenedJob opened, std::unique_ptr<store::ReadingStore> writing);
  ~Daemon();
  Daemon(const Daemon&) = delete;
  Daemon& operator=(const Daemon&) = delete;

  // Spawns the work on the loop. `finished` is called once, with the result.
  void start(std::function<void(store::Result<void>)> finished);
  // Ends the work after one last round.
  void stop();
  // Work is under way on another thread.
  [[nodiscard]] bool busy() const;

 private:
  boost::asio::awaitable<store::Result<void>> run();
  void note_writing(const store::Result<void>& round);
  store::Result<void> load();
  store::Result<void> load_rooms(bool replay_all);
  boost::asio::awaitable<store::Result<void>> round();
  store::CommitBatch batch_from(CollectedRound& round);
  void feed(const CollectedRound& round);
  void step_alerts(const CollectedRound& round, store::CommitBatch& batch);
  boost::asio::awaitable<store::Result<store::CommitCounts>> commit(store::CommitBatch batch);
  boost::asio::awaitable<void> after_commit(const store::CommitCounts& counts);
  store::Result<bool> people_recorded_something();
  [[nodiscard]] DeliveryLanes::Ports delivery_ports();
  boost::asio::awaitable<store::Result<void>> keep_deliveries(
      std::vector<store::Delivery> deliveries);
  [[nodiscard]] Collector::Extent extent_of_round() const;
  [[nodiscard]] Micros until_next_round() const;
  boost::asio::awaitable<void> check_store();
  boost::asio::awaitable<void> keep_checkpoints();
  void start_push_if_due();
  boost::asio::awaitable<void> push_status();
  boost::asio::awaitable<void> write_report(DutyReport report);
  boost::asio::awaitable<void> wait_for_next_round();
  // Runs `work` on the writer or the worker thread and gives its result here. g++ 12 destroys a
  // lambda twice that is made inside a co_await expression, so callers name their work first.
  template <class T>
  using WriterWork = std::function<T(store::ReadingStore&)>;
  template <class T>
  boost::asio::awaitable<T> on_writer(WriterWork<T> work);
  boost::asio::awaitable<store::Result<void>> on_worker(std::function<store::Result<void>()> work);
  void log(const std::string& line, LogLevel level = LogLevel::info);
  bool ask_writer(std::function<void()> answered);

  DaemonPorts ports_;
  store::StoreWriter writer_;  // outlives the reading connection, so that it can close the log file
  Heartbeat heartbeat_;
  OpenedJob opened_;
  Collector collector_;
  ingest::Signal wake_;
  bool stopping_ = false;
  bool start_noted_ = false;
  bool last_round_more_ = false;
  std::optional<store::Error> fatal_;
  std::string writing_fault_;  // empty = the last round was written
  bool check_passed_ = true;
  UtcMicros started_at_;
  JobRecords records_;
  std::int64_t last_event_id_ = 0;
  std::vector<RoomTracker> rooms_;
  Alerting alerting_;
  CheckpointDuty checkpoints_;
  bool at_checkpoints_ = false;
  StatusPush pushes_;
  bool at_pushes_ = false;
  std::stop_source request_stop_;  // ends a request to an authority or a web space
  std::stop_source worker_stop_;
  std::atomic<int> worker_pending_{0};
  boost::asio::thread_pool worker_{1};
  DeliveryLanes lanes_;  // its threads are joined before all else goes
};

template <class T>
boost::asio::awaitable<T> Daemon::on_writer(WriterWork<T> work) {
  auto crossing = std::make_shared<Crossing<T>>(ports_.loop.get_executor());
  const bool taken =
      writer_.try_submit([this, work = std::move(work), crossing](store::ReadingStore& store) {
        crossing->hand_over(ports_.loop, work(store));
      });
  if (!taken) {
    co_return store::failure(store::ErrorCode::unavailable, "the writer's queue is full");
  }
  co_return co_await crossing->result();
}

}  // namespace logger::app
