// A room for tests: what was logged, by hours since the start.
#pragma once

#include <cmath>
#include <functional>

#include "analysis/readiness/room/time_to_ready.hpp"

namespace logged_room {

using namespace analysis::readiness;
using namespace analysis::readiness::room;
using analysis::base::hours_from;
using analysis::base::micros_from_hours;

inline constexpr UtcMicros kStart{1'772'000'000'000'000};
inline constexpr double kQuarter = 0.25;

inline UtcMicros hour(double hours) { return kStart + micros_from_hours(hours); }
inline double hours_since_start(UtcMicros at) { return hours_from(at - kStart); }

using Curve = std::function<double(double hours)>;
inline Curve constant(double value) {
  return [value](double) { return value; };
}
inline Curve line(double at_start, double per_hour) {
  return [=](double hours) { return at_start + per_hour * hours; };
}

// A room that was logged: celsius and rh as fraction over hours since the start.
struct LoggedRoom {
  DwellAccount account;
  AirSeries air;

  explicit LoggedRoom(const DwellPolicy& policy = {}) : account(policy) {}

  void log(double at_hours, double celsius, double rh) {
    account.add({hour(at_hours), Celsius{celsius}, RelativeHumidity{rh}});
    air.temperature.points.push_back({hour(at_hours), celsius});
    air.rh.points.push_back({hour(at_hours), rh});
  }
  void log(double from, double to, const Curve& celsius, const Curve& rh) {
    const int readings = static_cast<int>(std::floor((to - from) / kQuarter + 1e-9));
    for (int i = 0; i <= readings; ++i) {
      const double at = from + kQuarter * i;
      log(at, celsius(at), rh(at));
    }
  }
  [[nodiscard]] auto expected(double now_hours) const {
    return dwell_end_expected_from(account.state(), account.policy(), air, hour(now_hours));
  }
};

}  // namespace logged_room
