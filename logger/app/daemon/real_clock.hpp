// The machine's clock and the event loop's timers. The only place, beside main, that reads a clock.
#pragma once

#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <map>
#include <memory>

#include "logger/ingest/clock.hpp"

namespace logger::app {

// One thread: the event loop's. `context` outlives this.
class RealClock final : public ingest::Clock {
 public:
  explicit RealClock(boost::asio::io_context& context) : context_(context) {}

  [[nodiscard]] ingest::UtcMicros utc_now() const override;
  [[nodiscard]] ingest::Micros monotonic_now() const override;
  TimerId call_after(ingest::Micros delay, std::function<void()> handler) override;
  void cancel(TimerId id) override;

 private:
  boost::asio::io_context& context_;
  std::map<TimerId, boost::asio::steady_timer> timers_;
  TimerId last_id_ = 0;
};

// Real time for a command that runs once.
[[nodiscard]] ingest::UtcMicros utc_of_this_machine();

}  // namespace logger::app
