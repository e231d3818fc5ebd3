// Simulated time, handed out in lock step by the simulator's time server (docs/simulated-time.md).
// Time stands still until this side says that it has nothing left to do.
#pragma once

#include <boost/asio/io_context.hpp>
#include <boost/asio/local/stream_protocol.hpp>
#include <boost/asio/streambuf.hpp>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "logger/ingest/clock.hpp"
#include "logger/store/error.hpp"

namespace logger::app {

// One thread: the event loop's. Clock and line observer in one, since both feed the idle report.
class SimulatedClock final : public ingest::Clock, public ingest::LineObserver {
 public:
  explicit SimulatedClock(boost::asio::io_context& context);

  // Connects and waits for the first `now`.
  store::Result<void> connect(const std::string& socket_path, const std::string& name);

  // What the simulated machine's clock shows, right or wrong.
  [[nodiscard]] ingest::UtcMicros utc_now() const override { return now_ + host_offset_; }
  [[nodiscard]] ingest::Micros monotonic_now() const override {
    return ingest::Micros{now_.value} + waited_after_end_;
  }
  TimerId call_after(ingest::Micros delay, std::function<void()> handler) override;
  void cancel(TimerId id) override;

  void opened(const std::string& port, std::function<void()> ready) override;
  void closed(const std::string& port) override;
  void sent(const std::string& port, std::size_t bytes) override;
  void received(const std::string& port, std::size_t bytes) override;

  // Says that nothing is left to do before the earliest timer; nothing is sent when the last report
  // still holds.
  void report_idle();

  // The scenario is over, or the time server went away; no time will pass any more.
  [[nodiscard]] bool ended() const { return ended_; }
  // The time server went away, or dropped this program, before the scenario was over.
  [[nodiscard]] bool was_dropped() const { return dropped_; }
  // For what still waits after the end, where no time passes by itself: how long its earliest timer
  // is to run, nullopt without one.
  [[nodiscard]] std::optional<ingest::Micros> until_earliest_timer() const;
  void expire_earliest_timer();
  void on_end(std::function<void()> handler) { on_end_ = std::move(handler); }

 private:
  struct Traffic {
    std::uint64_t sent = 0;
    std::uint64_t received = 0;
    std::function<void()> ready;  // set while `opened` is awaited
  };

  void read_next_line();
  void take_line(const std::string& line);
  void end();
  void send_line(const std::string& line);
  void run_due_timers();

  boost::asio::local::stream_protocol::socket socket_;
  boost::asio::streambuf input_;
  ingest::UtcMicros now_;  // true; timers and monotonic time go by it
  ingest::Micros host_offset_{0};
  ingest::Micros waited_after_end_{
      0};  // the clocks of the site and of the machine stand still then
  std::uint64_t step_ = 0;
  bool ended_ = false;
  bool dropped_ = false;
  std::function<void()> on_end_;
  std::map<std::pair<std::int64_t, TimerId>, std::function<void()>> timers_;  // by due time
  std::map<TimerId, std::int64_t> due_by_id_;
  TimerId last_id_ = 0;
  std::map<std::string, Traffic> lines_;
  std::string last_report_;
};

// Runs the loop under simulated time until `stopped`. `busy`: work is under way on another thread,
// so this side is not idle. After the clock has ended, bytes still flow and timers run out.
void run_simulated(boost::asio::io_context& context, SimulatedClock& clock,
                   const std::function<bool()>& busy, const std::function<bool()>& stopped);

}  // namespace logger::app
