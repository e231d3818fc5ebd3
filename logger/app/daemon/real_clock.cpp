#include "logger/app/daemon/real_clock.hpp"

#include <chrono>
#include <utility>

namespace logger::app {

using ingest::Micros;
using ingest::UtcMicros;

UtcMicros utc_of_this_machine() {
  const auto now = std::chrono::system_clock::now().time_since_epoch();
  return UtcMicros{std::chrono::duration_cast<Micros>(now).count()};
}

UtcMicros RealClock::utc_now() const { return utc_of_this_machine(); }

Micros RealClock::monotonic_now() const {
  return std::chrono::duration_cast<Micros>(std::chrono::steady_clock::now().time_since_epoch());
}

ingest::Clock::TimerId RealClock::call_after(Micros delay, std::function<void()> handler) {
  const TimerId id = ++last_id_;
  auto& timer = timers_.emplace(id, context_).first->second;
  timer.expires_after(delay);
  timer.async_wait(
      [this, id, handler = std::move(handler)](const boost::system::error_code& error) {
        timers_.erase(id);
        if (!error) {
          handler();
        }
      });
  return id;
}

void RealClock::cancel(TimerId id) {
  const auto found = timers_.find(id);
  if (found != timers_.end()) {
    found->second.cancel();
  }
}

}  // namespace logger::app
