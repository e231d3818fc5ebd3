#include "logger/app/alerts/local_clock.hpp"

#include <glib.h>

#include <memory>

namespace logger::app {

using analysis::alerts::LocalClock;
using analysis::base::Micros;
using analysis::base::UtcMicros;

store::Result<LocalClock> local_clock_from(const std::string& time_zone) {
  // A copy of the function shares the zone, which counts its own references.
  struct Zone {
    explicit Zone(GTimeZone* taken) : raw(taken) {}
    Zone(const Zone& other) : raw(g_time_zone_ref(other.raw)) {}
    Zone& operator=(const Zone&) = delete;
    ~Zone() { g_time_zone_unref(raw); }
    GTimeZone* raw;
  };
  GTimeZone* const raw = g_time_zone_new_identifier(time_zone.c_str());
  if (raw == nullptr) {
    return store::failure(store::ErrorCode::invalid_input,
                          "time zone `" + time_zone +
                              "` is not in this machine's database; expected a name like "
                              "Europe/Vienna, or UTC");
  }
  return LocalClock([zone = Zone(raw)](UtcMicros at) -> Micros {
    constexpr std::int64_t kMicrosPerSecond = 1'000'000;
    const std::int64_t seconds =
        at.value / kMicrosPerSecond - (at.value % kMicrosPerSecond < 0 ? 1 : 0);
    const gint interval = g_time_zone_find_interval(zone.raw, G_TIME_TYPE_UNIVERSAL, seconds);
    return std::chrono::seconds(g_time_zone_get_offset(zone.raw, interval));
  });
}

LocalClock local_clock_or_utc(const std::string& time_zone) {
  auto clock = local_clock_from(time_zone);
  return clock ? std::move(clock).value() : [](UtcMicros /*at*/) { return Micros{0}; };
}

}  // namespace logger::app
