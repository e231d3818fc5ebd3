// When something was that a device did between a request and its reply. Event loop thread only.
#pragma once

#include <algorithm>
#include <cstdint>

#include "analysis/base/clock_map.hpp"
#include "logger/ingest/clock.hpp"

namespace logger::ingest {

class RoundTrip {
 public:
  // Begins now, just before the request. `clock` outlives this.
  explicit RoundTrip(const Clock& clock)
      : clock_(clock), utc_before_(clock.utc_now()), asked_at_(clock.monotonic_now()) {}

  // Just after the reply.
  void end() {
    utc_after_ = clock_.utc_now();
    length_ = clock_.monotonic_now() - asked_at_;
  }

  // Monotonic. REQUIRES: ended, as for exchange().
  [[nodiscard]] Micros middle() const { return asked_at_ + (length_ + Micros{1}) / 2; }
  // A device's counter of milliseconds that was at `ticks_ms` in between. The error covers half the
  // round trip and one tick. Both what the host clock said before and what it said after must fit;
  // they differ by more than the round trip only where the clock was stepped meanwhile.
  [[nodiscard]] analysis::base::ClockExchange exchange(std::int64_t ticks_ms) const {
    constexpr Micros kTickResolution{1'000};
    const UtcMicros earliest = std::min(utc_before_, utc_after_ - length_);
    const UtcMicros latest = std::max(utc_before_ + length_, utc_after_);
    const Micros half = (latest - earliest + Micros{1}) / 2;
    return {ticks_ms, earliest + half, half + kTickResolution};
  }

 private:
  const Clock& clock_;
  UtcMicros utc_before_;
  Micros asked_at_;
  UtcMicros utc_after_;
  Micros length_{0};
};

}  // namespace logger::ingest
