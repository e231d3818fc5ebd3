#include "analysis/base/clock_map.hpp"

#include <algorithm>
#include <cmath>
#include <cstdlib>

namespace analysis::base {
namespace {

constexpr std::int64_t kMicrosPerTick = 1000;  // ticks are milliseconds
constexpr std::int64_t kHourOfTicks = 3'600'000;

// How far the box's clock may be off after `ticks_ms` of running.
Micros drift_allowance(std::int64_t ticks_ms) {
  const double micros =
      std::abs(static_cast<double>(ticks_ms)) * kMicrosPerTick * kMaxClockRateError;
  return Micros{static_cast<std::int64_t>(std::ceil(micros))};
}

// Where the host clock should be at `next`, judged by the box's clock since `previous`.
Micros disagreement(const ClockExchange& previous, const ClockExchange& next) {
  const std::int64_t box = (next.ticks_ms - previous.ticks_ms) * kMicrosPerTick;
  return (next.utc - previous.utc) - Micros{box};
}

DatedTime extrapolated(const ClockExchange& anchor, std::int64_t ticks_ms) {
  const std::int64_t away = ticks_ms - anchor.ticks_ms;
  return {anchor.utc + Micros{away * kMicrosPerTick}, anchor.error + drift_allowance(away)};
}

}  // namespace

ClockMap::ClockMap(std::span<const ClockExchange> exchanges, UtcMicros plausible_from) {
  for (ClockExchange next : exchanges) {
    if (next.utc < plausible_from) {
      continue;
    }
    if (!anchors_.empty()) {
      const ClockExchange& previous = anchors_.back();
      if (next.ticks_ms <= previous.ticks_ms) {
        continue;  // REQUIRES increasing ticks; a repeated exchange adds nothing
      }
      const Micros off = disagreement(previous, next);
      const Micros allowed =
          previous.error + next.error + drift_allowance(next.ticks_ms - previous.ticks_ms);
      const bool stepped = std::chrono::abs(off) > allowed + kSmallestStep;
      if (!stepped && next.utc <= previous.utc) {
        continue;  // within its error, but kept it would date two ticks backwards
      }
      if (!stepped && std::chrono::abs(off) > allowed) {
        next.error += std::chrono::abs(off);
      }
      if (stepped) {
        // The step is taken for a correction, so the later clock is believed; what was dated
        // before is shifted with it and its error widened by the whole step.
        steps_.push_back({next.ticks_ms, off});
        for (ClockExchange& anchor : anchors_) {
          anchor.utc = anchor.utc + off;
          anchor.error += std::chrono::abs(off);
        }
      }
    }
    anchors_.push_back(next);
  }
}

std::optional<DatedTime> ClockMap::utc_from_ticks(std::int64_t ticks_ms) const {
  if (anchors_.empty()) {
    return std::nullopt;
  }
  const auto after = std::upper_bound(
      anchors_.begin(), anchors_.end(), ticks_ms,
      [](std::int64_t ticks, const ClockExchange& anchor) { return ticks < anchor.ticks_ms; });
  if (after == anchors_.begin()) {
    return extrapolated(anchors_.front(), ticks_ms);
  }
  const ClockExchange& left = *(after - 1);
  if (after == anchors_.end()) {
    return extrapolated(left, ticks_ms);
  }
  const ClockExchange& right = *after;
  const double share = static_cast<double>(ticks_ms - left.ticks_ms) /
                       static_cast<double>(right.ticks_ms - left.ticks_ms);
  const double span = static_cast<double>((right.utc - left.utc).count());
  const UtcMicros at = left.utc + Micros{std::llround(share * span)};
  // Both ends are right within their errors; between them the box may have run unevenly.
  const std::int64_t nearest = std::min(ticks_ms - left.ticks_ms, right.ticks_ms - ticks_ms);
  return DatedTime{at, std::max(left.error, right.error) + drift_allowance(nearest)};
}

std::optional<std::int64_t> ClockMap::ticks_from_utc(UtcMicros utc) const {
  if (anchors_.empty()) {
    return std::nullopt;
  }
  // utc_from_ticks is non-decreasing and never more than the sum of all corrections away from the
  // straight line through the first anchor, so a bracket around that guess is found by doubling.
  const std::int64_t guess =
      anchors_.front().ticks_ms + (utc - anchors_.front().utc).count() / kMicrosPerTick;
  std::int64_t reach = 1000;
  while (utc_from_ticks(guess - reach)->at >= utc || utc_from_ticks(guess + reach)->at < utc) {
    reach *= 2;
  }
  std::int64_t low = guess - reach;  // dated before utc
  std::int64_t high = guess + reach;
  while (high - low > 1) {
    const std::int64_t middle = low + (high - low) / 2;
    (utc_from_ticks(middle)->at < utc ? low : high) = middle;
  }
  return high;
}

UtcMicros plausible_exchanges_from(std::uint32_t boot) {
  return boot == 0 ? UtcMicros{std::numeric_limits<std::int64_t>::min()} : kEarliestPlausibleUtc;
}

std::int64_t first_dating_ticks(const ClockMap& newest, std::optional<UtcMicros> from) {
  const auto guess = from ? newest.ticks_from_utc(*from) : std::nullopt;
  return guess ? *guess - kHourOfTicks : -kEndOfTicks;
}

ClockMap clock_map_for_history(std::span<const ClockExchange> exchanges, std::uint32_t boot,
                               std::optional<UtcMicros> from) {
  const UtcMicros plausible = plausible_exchanges_from(boot);
  const std::size_t newest = exchanges.empty() ? 0 : 1;
  const std::int64_t first_ticks =
      first_dating_ticks(ClockMap(exchanges.last(newest), plausible), from);
  auto begin = std::ranges::lower_bound(exchanges, first_ticks, {}, &ClockExchange::ticks_ms);
  if (begin != exchanges.begin()) {
    --begin;
  }
  return {std::span(begin, exchanges.end()), plausible};
}

}  // namespace analysis::base
