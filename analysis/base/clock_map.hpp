// Dates the ticks of one boot of one box from clock exchanges. Pure and deterministic: the same
// exchanges give the same dates, and an exchange later than a tick's two neighbours never moves it
// (except after a step of the host clock, which re-dates the boot and widens its error).
#pragma once

#include <cstdint>
#include <limits>
#include <optional>
#include <span>
#include <vector>

#include "analysis/base/time.hpp"

namespace analysis::base {

// One exchange: when the box's clock showed ticks_ms, the host's clock showed utc, within +-error.
struct ClockExchange {
  std::int64_t ticks_ms = 0;
  UtcMicros utc;
  Micros error{0};
  bool operator==(const ClockExchange&) const = default;
};

// A step of the host clock between two exchanges; positive = the host clock was put forward.
struct ClockStep {
  std::int64_t ticks_ms = 0;  // of the first exchange after the step
  Micros size{0};
};

// Largest rate error of a box clock that is not taken for a step: 200 ppm.
// Source: common practice for uncompensated quartz over -20..60 deg C, doubled. [asm]
inline constexpr double kMaxClockRateError = 200e-6;

// A host clock that is nudged by less than this between two exchanges was not set anew: the nudge
// widens the error of the later exchange and re-dates nothing. [asm]
inline constexpr Micros kSmallestStep{1'000'000};

// Host clocks that show less than this were not set yet: the program did not exist before.
inline constexpr UtcMicros kEarliestPlausibleUtc{1'735'689'600'000'000};  // 2025-01-01T00:00:00Z

class ClockMap {
 public:
  // `exchanges` in increasing ticks. `plausible_from`: exchanges with an earlier utc come from a
  // host clock that was not set yet, and are left out.
  ClockMap(std::span<const ClockExchange> exchanges, UtcMicros plausible_from);

  // nullopt when no plausible exchange exists: the time of this boot is unknown, not guessed.
  // Between two exchanges linear; outside them at the box's own rate with the error growing by
  // kMaxClockRateError. Non-decreasing in ticks. O(log n).
  [[nodiscard]] std::optional<DatedTime> utc_from_ticks(std::int64_t ticks_ms) const;

  // The smallest tick dated at or after `utc`; nullopt as above.
  [[nodiscard]] std::optional<std::int64_t> ticks_from_utc(UtcMicros utc) const;

  [[nodiscard]] const std::vector<ClockStep>& steps() const { return steps_; }

 private:
  std::vector<ClockExchange> anchors_;  // increasing in ticks and utc, after removing steps
  std::vector<ClockStep> steps_;
};

// From when on the exchanges of a boot are believed. Boot 0 is an import, whose ticks are UTC.
[[nodiscard]] UtcMicros plausible_exchanges_from(std::uint32_t boot);

// Earlier and later than all ticks.
inline constexpr std::int64_t kEndOfTicks = std::numeric_limits<std::int64_t>::max() / 4;

// The tick from which on exchanges date a history that begins at `from` (nullopt: at the boot's
// first record): surely before it, but not much, so that a year of exchanges is not read to date
// the last day of it. `newest`: of the boot's newest exchange alone.
[[nodiscard]] std::int64_t first_dating_ticks(const ClockMap& newest,
                                              std::optional<UtcMicros> from);

// The map that dates such a history, from all exchanges of the boot in increasing ticks: those from
// first_dating_ticks on and the nearest one before. Whoever dates the same records again uses the
// same ones, since exchanges long before may widen errors.
[[nodiscard]] ClockMap clock_map_for_history(std::span<const ClockExchange> exchanges,
                                             std::uint32_t boot, std::optional<UtcMicros> from);

}  // namespace analysis::base
