// Hours of the day by local clocks, in which people are left alone. Pure: whoever knows the zone
// passes its offset in.
#pragma once

#include <chrono>
#include <functional>

#include "analysis/base/time.hpp"

namespace analysis::alerts {

using base::Micros;
using base::UtcMicros;

// What local clocks show at a moment less UTC: +2 h in a central European summer.
using LocalClock = std::function<Micros(UtcMicros)>;

// By local clocks, from included, to not; from > to goes over midnight; equal = never.
struct QuietHours {
  std::chrono::minutes from{0};  // after local midnight
  std::chrono::minutes to{0};
  bool operator==(const QuietHours&) const = default;
};

[[nodiscard]] bool is_quiet(const QuietHours& hours, const LocalClock& clock, UtcMicros at);

// The first moment from `at` on that is not quiet, to the minute; `at` itself where it is none.
// REQUIRES: from and to within a day. Looks at every minute of at most two days, since clocks are
// put forward and back.
[[nodiscard]] UtcMicros quiet_until(const QuietHours& hours, const LocalClock& clock, UtcMicros at);

// The newest moment up to `at` at which local clocks show that time of day.
[[nodiscard]] UtcMicros newest_time_of_day(std::chrono::minutes after_midnight,
                                           const LocalClock& clock, UtcMicros at);

}  // namespace analysis::alerts
