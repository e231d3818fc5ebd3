// Mean and lowest value of a channel over a stretch of time, with how much of it was recorded.
// Pure. Values lie on straight lines between readings no farther apart than the longest interval;
// longer intervals are absence and count for nothing.
#pragma once

#include <optional>

#include "analysis/base/series.hpp"
#include "analysis/readiness/verdict.hpp"

namespace analysis::readiness {

struct WindowValues {
  double mean = 0.0;    // over the covered time
  double lowest = 0.0;  // likewise
  Micros covered{0};
};

// `points` strictly increasing in time. nullopt where no time in `range` is covered. O(n) in the
// points inside the range.
[[nodiscard]] std::optional<WindowValues> window_values_from(const base::Series& series,
                                                             const base::TimeRange& range,
                                                             Micros longest_interval);

// A good value not older than the longest interval.
[[nodiscard]] bool gives_values(const ChannelEvidence& channel, UtcMicros now,
                                Micros longest_interval);

// The last `length` up to the channel's newest good value, of which at least half must be covered;
// nullopt otherwise or when the channel gives no values now. `not_before` cuts off what was
// recorded earlier, the required half stays that of `length`.
[[nodiscard]] std::optional<WindowValues> recent_values_from(
    const ChannelEvidence& channel, UtcMicros now, Micros length, Micros longest_interval,
    std::optional<UtcMicros> not_before = std::nullopt);

}  // namespace analysis::readiness
