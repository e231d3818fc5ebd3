#include "analysis/alerts/quiet_hours.hpp"

namespace analysis::alerts {
namespace {

constexpr Micros kMinute = std::chrono::minutes(1);
constexpr Micros kDay = std::chrono::hours(24);

// Since local midnight.
Micros time_of_day(const LocalClock& clock, UtcMicros at) {
  const Micros local = Micros{at.value} + clock(at);
  const Micros into_day = local % kDay;
  return into_day < Micros{0} ? into_day + kDay : into_day;
}

}  // namespace

bool is_quiet(const QuietHours& hours, const LocalClock& clock, UtcMicros at) {
  const Micros now = time_of_day(clock, at);
  return hours.from <= hours.to ? now >= hours.from && now < hours.to
                                : now >= hours.from || now < hours.to;
}

UtcMicros quiet_until(const QuietHours& hours, const LocalClock& clock, UtcMicros at) {
  if (!is_quiet(hours, clock, at)) {
    return at;
  }
  const UtcMicros last = at + 2 * kDay;
  UtcMicros minute{at.value - at.value % kMinute.count()};
  while (minute < last && (minute < at || is_quiet(hours, clock, minute))) {
    minute = minute + kMinute;
  }
  return minute;
}

UtcMicros newest_time_of_day(std::chrono::minutes after_midnight, const LocalClock& clock,
                             UtcMicros at) {
  Micros back = time_of_day(clock, at) - after_midnight;
  if (back < Micros{0}) {
    back += kDay;
  }
  const UtcMicros guess = at - back;
  // Clocks may have been put forward or back in between.
  const UtcMicros moment = guess + (clock(at) - clock(guess));
  return moment <= at ? moment : guess;
}

}  // namespace analysis::alerts
