// How long a room is logged in a climate during a stretch of time, to hold against the hours that
// somebody states. Pure.
#pragma once

#include <optional>

#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"
#include "analysis/readiness/service/service_climate.hpp"

namespace analysis::readiness {

// What is in neither is not known: not logged, or the room went in or out between two readings.
struct LoggedHours {
  base::Micros inside{0};
  base::Micros outside{0};
};

class HoursInClimate {
 public:
  // Readings farther apart than `longest_interval` have unknown time between them.
  HoursInClimate(base::TimeRange during, const ServiceClimate& climate,
                 base::Micros longest_interval)
      : during_(during), climate_(climate), longest_interval_(longest_interval) {}
  // In order of time; nullopt = not good. Those before and after the stretch bound its ends.
  void add(base::UtcMicros at, std::optional<base::Celsius> temperature,
           std::optional<base::RelativeHumidity> rh);
  [[nodiscard]] const LoggedHours& logged() const { return logged_; }

 private:
  struct Reading {
    base::UtcMicros at;
    std::optional<bool> outside;
  };
  base::TimeRange during_;
  ServiceClimate climate_;
  base::Micros longest_interval_;
  std::optional<Reading> last_;
  LoggedHours logged_;
};

// The log speaks clearly against `stated` hours where even with all hours that are not known taken
// for inside, fewer than nine tenths of the hours `asked` for are left (our assumption: a tenth for
// doors that stood open and airing).
[[nodiscard]] bool contradicts(const LoggedHours& logged, base::Micros stated, base::Micros asked);

}  // namespace analysis::readiness
