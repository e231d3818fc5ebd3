// Moments of which only the day is known: they stand for the end of that day, UTC, and are shown as
// the day alone. The last microsecond of a day says so; nobody writes that down as a time.
#pragma once

#include <string>

#include "analysis/base/time.hpp"

namespace analysis::base {

inline constexpr Micros kWholeDay = micros_from_hours(24.0);

// `midnight`: at which the day begins.
[[nodiscard]] inline UtcMicros day_end_from(UtcMicros midnight) {
  return midnight + kWholeDay - Micros{1};
}
[[nodiscard]] inline bool is_day_end(UtcMicros at) {
  return (at.value + 1) % kWholeDay.count() == 0;
}
// "2026-03-07", or to the minute where a time is known.
[[nodiscard]] inline std::string day_or_minute_text(UtcMicros at) {
  return is_day_end(at) ? rfc3339_from_utc(at).substr(0, 10) : minute_text_from_utc(at);
}
// As a moment to wait for: "the end of 2026-03-07", or to the minute.
[[nodiscard]] inline std::string day_end_or_minute_text(UtcMicros at) {
  return (is_day_end(at) ? "the end of " : "") + day_or_minute_text(at);
}

}  // namespace analysis::base
