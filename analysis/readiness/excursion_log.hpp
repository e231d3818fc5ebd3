// Lists when the room air was out of its band, channel by channel, and when it was not known. For
// people and certificates; the dwell account itself does not use it. Pure; used by one thread;
// memory is bounded: the longest entries are kept, all are counted.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "analysis/base/record.hpp"
#include "analysis/base/time.hpp"
#include "analysis/readiness/dwell.hpp"

namespace analysis::readiness {

// Time out of band, of one channel; worst is in the file unit of its role (celsius, percent_rh).
// Ends at a crossing of the limit, or at the last reading before the channel was not known: nothing
// is drawn across a gap, so air that is out on both sides of one makes two excursions.
struct Excursion {
  base::TimeRange range;
  base::ChannelRole role = base::ChannelRole::room_air_temperature;
  double worst = 0.0;  // the value farthest outside the band
  bool operator==(const Excursion&) const = default;
};

class ExcursionLog {
 public:
  static constexpr std::size_t kMostListed = 20;

  ExcursionLog(ClimateBand band, Micros longest_interval)
      : band_(band), longest_interval_(longest_interval) {}

  // The samples that the dwell account accepted, in the same order. A sample not later than the one
  // before changes nothing. O(kMostListed).
  void add(const DwellSample& sample);

  // The longest kMostListed, in order of time, one still open included up to the newest reading.
  [[nodiscard]] std::vector<Excursion> excursions() const;
  [[nodiscard]] std::int64_t excursions_total() const;

  // Time in which a channel of the room air was not known, adjoining stretches joined; likewise the
  // longest, in order of time. `until` adds the time since the newest reading where that is longer
  // than the longest interval.
  [[nodiscard]] std::vector<base::TimeRange> unknown_time(UtcMicros until) const;
  [[nodiscard]] std::int64_t unknown_time_total(UtcMicros until) const;

 private:
  // One channel of the room air between two limits, in its file unit.
  struct Limits {
    base::ChannelRole role;
    double low;
    double high;
  };
  struct Point {
    UtcMicros at;
    std::optional<double> value;
  };
  void follow(const Limits& limits, const Point& from, const Point& to, bool known,
              std::optional<Excursion>& open);
  [[nodiscard]] std::optional<base::TimeRange> open_unknown(UtcMicros until) const;

  ClimateBand band_;
  Micros longest_interval_;
  std::optional<DwellSample> previous_;
  std::optional<Excursion> open_temperature_;
  std::optional<Excursion> open_rh_;
  std::optional<base::TimeRange> open_unknown_;
  std::vector<Excursion> excursions_;  // closed
  std::vector<base::TimeRange> unknown_;
  std::int64_t excursions_closed_ = 0;
  std::int64_t unknown_closed_ = 0;
};

}  // namespace analysis::readiness
