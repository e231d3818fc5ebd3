// What an outlook needs of a room's log beyond the last hours, thinned while it streams by: memory
// does not grow with the log. Reads only.
#pragma once

#include <deque>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "analysis/readiness/excursion_log.hpp"
#include "analysis/readiness/outlook/slot_means.hpp"
#include "logger/app/charts/course_curve.hpp"
#include "logger/app/room/room_tracker.hpp"

namespace logger::app {

inline constexpr Micros kDaySlot = analysis::base::micros_from_hours(24);  // of UTC
inline constexpr Micros kSlabSlot = analysis::base::micros_from_hours(12);
inline constexpr std::size_t kMostSlabReadings = 400;  // 200 days
inline constexpr std::size_t kMostDays = 3700;         // ten years
inline constexpr std::size_t kAirDays = 14;            // of the mean air above a slab
inline constexpr Micros kOutdoorWindow = analysis::base::micros_from_hours(3);

// Curves from the delivery on for charts, in equal buckets; nullopt = nothing recorded there.
inline constexpr std::size_t kMostCourseBuckets = 256;
inline constexpr Micros kLongestCourse = analysis::base::micros_from_hours(24.0 * 14.0);

struct RoomCourse {
  UtcMicros from;
  Micros bucket{0};
  std::size_t buckets = 0;
  CourseCurve air_celsius;
  CourseCurve air_rh;                                      // fraction
  CourseCurve core_measured;                               // celsius; empty without a probe
  std::vector<analysis::readiness::Excursion> excursions;  // of the air, as the hours are counted
  CourseCurve core_computed;  // celsius, lowest, usual and highest material; empty without one
  [[nodiscard]] UtcMicros to() const { return from + bucket * static_cast<std::int64_t>(buckets); }
};

using SlotList = std::deque<analysis::readiness::outlook::SlotMean>;

struct OutlookHistory {
  SlotList air_rh_days;  // fraction; slots of kDaySlot since 1970
  SlotList air_celsius_days;
  std::map<std::string, SlotList> slab_rh;  // by channel, settled readings only, 12 h slots
  std::map<std::string, SlotList> slab_celsius;
  std::map<std::string, bool> slab_rh_cut;  // older readings than kMostSlabReadings were let go
  std::optional<analysis::base::Celsius> outdoor_temperature;  // mean of the last 3 h
  std::optional<analysis::base::RelativeHumidity> outdoor_rh;
  std::optional<RoomCourse> course;  // of the first kLongestCourse since the delivery
};

struct HistorySource {
  const Job* job = nullptr;
  const JobRoom* room = nullptr;
  const JobRecords* records = nullptr;
  UtcMicros now;
};

// One pass over the records of the room's boxes and of the box with the outdoor channels, from the
// delivery, the placing of the slab probes or kAirDays ago, whichever is earliest, to now.
[[nodiscard]] store::Result<OutlookHistory> outlook_history_from(store::ReadingStore& store,
                                                                 const HistorySource& source);

// When readings of a slab probe begin to count; nullopt = nobody noted its placing.
[[nodiscard]] std::optional<UtcMicros> settled_from(
    const analysis::readiness::ChannelSetup& channel,
    const analysis::readiness::FloorRequirements& requirements);

}  // namespace logger::app
