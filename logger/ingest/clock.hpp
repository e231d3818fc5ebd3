// The clock the logger is given. Only logger/app implements it (real or simulated). Monotonic time
// is for waiting, UTC for labels; the two are never mixed.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <string>

#include "analysis/base/time.hpp"

namespace logger::ingest {

using analysis::base::Micros;
using analysis::base::UtcMicros;

class Clock {
 public:
  using TimerId = std::uint64_t;
  Clock() = default;
  Clock(const Clock&) = delete;
  Clock& operator=(const Clock&) = delete;
  virtual ~Clock() = default;

  [[nodiscard]] virtual UtcMicros utc_now() const = 0;
  [[nodiscard]] virtual Micros monotonic_now() const = 0;
  // Calls `handler` once on the event loop when `delay` has passed, unless cancelled before.
  // The handler never runs inside call_after.
  virtual TimerId call_after(Micros delay, std::function<void()> handler) = 0;
  // No effect when it ran already.
  virtual void cancel(TimerId id) = 0;
};

// Told about every opening of a serial line and every byte that crossed it; simulated time counts
// them to know that nothing is on its way. The real clock needs none.
class LineObserver {
 public:
  LineObserver() = default;
  LineObserver(const LineObserver&) = delete;
  LineObserver& operator=(const LineObserver&) = delete;
  virtual ~LineObserver() = default;
  // After open and flush, before the first byte; `ready` is called when bytes may flow.
  virtual void opened(const std::string& port, std::function<void()> ready) = 0;
  virtual void closed(const std::string& port) = 0;
  virtual void sent(const std::string& port, std::size_t bytes) = 0;
  virtual void received(const std::string& port, std::size_t bytes) = 0;
};

}  // namespace logger::ingest
