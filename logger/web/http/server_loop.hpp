// What answering a request needs from the server beside the request: a thread that may block,
// timers and clocks. Everything is called on, and calls back on, the server's thread.
#pragma once

#include <chrono>
#include <functional>

#include "analysis/base/time.hpp"

namespace logger::web {

using analysis::base::UtcMicros;

class ServerLoop {
 public:
  ServerLoop() = default;
  ServerLoop(const ServerLoop&) = delete;
  ServerLoop& operator=(const ServerLoop&) = delete;
  virtual ~ServerLoop() = default;

  // Runs `work` on the one worker thread, then `then` on the server's, also when `work` threw.
  // False: the queue is full, and neither is called.
  [[nodiscard]] virtual bool on_worker(std::function<void()> work, std::function<void()> then) = 0;
  // Real time: it is for I/O. Dropped when the server stops.
  virtual void call_after(std::chrono::milliseconds delay, std::function<void()> work) = 0;
  // Real time too, for what limits the load.
  [[nodiscard]] virtual std::chrono::steady_clock::time_point monotonic_now() const = 0;
  // By the logger's clock.
  [[nodiscard]] virtual UtcMicros utc_now() const = 0;
};

}  // namespace logger::web
