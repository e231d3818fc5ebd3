// Points in time and their text. UTC only; zones belong to display. Nothing here reads a clock.
#pragma once

#include <chrono>
#include <compare>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace analysis::base {

using Micros = std::chrono::microseconds;

// Microseconds since 1970-01-01T00:00:00Z, leap seconds not counted (POSIX).
struct UtcMicros {
  std::int64_t value = 0;
  constexpr auto operator<=>(const UtcMicros&) const = default;
};
constexpr Micros operator-(UtcMicros a, UtcMicros b) { return Micros{a.value - b.value}; }
constexpr UtcMicros operator+(UtcMicros t, Micros d) { return UtcMicros{t.value + d.count()}; }
constexpr UtcMicros operator-(UtcMicros t, Micros d) { return UtcMicros{t.value - d.count()}; }

// A UTC moment that is right within +-error.
struct DatedTime {
  UtcMicros at;
  Micros error{0};
  constexpr auto operator<=>(const DatedTime&) const = default;
};

struct TimeRange {
  UtcMicros from;
  UtcMicros to;
  constexpr auto operator<=>(const TimeRange&) const = default;
};

constexpr double seconds_from(Micros d) { return static_cast<double>(d.count()) / 1e6; }
constexpr double hours_from(Micros d) { return static_cast<double>(d.count()) / 3.6e9; }
constexpr double days_from(Micros d) { return hours_from(d) / 24.0; }
constexpr Micros micros_from_hours(double hours) {
  return Micros{static_cast<std::int64_t>(hours * 3.6e9 + (hours < 0 ? -0.5 : 0.5))};
}

// RFC 3339, always with 'Z'; fraction of a second only where there is one (millis or micros).
[[nodiscard]] std::string rfc3339_from_utc(UtcMicros at);

// To the minute, which is what a person plans by: "2026-03-07 06:12 UTC". Rounded down.
[[nodiscard]] std::string minute_text_from_utc(UtcMicros at);

// Accepts 'Z' or a numeric offset; an offset is required. nullopt on anything else, trailing bytes
// and impossible dates (30 February, hour 24) included. A leap second (:60) is refused.
[[nodiscard]] std::optional<UtcMicros> utc_from_rfc3339(std::string_view text);

// Text of a duration for people: "47 h 12 min", "24 h", "3 d 4 h", "41 s".
[[nodiscard]] std::string text_from_duration(Micros d);

}  // namespace analysis::base
