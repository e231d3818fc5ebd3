// When the room air will have left its band if the trend of the last hours goes on. Pure.
#pragma once

#include <optional>

#include "analysis/readiness/requirements.hpp"
#include "analysis/readiness/verdict.hpp"

namespace analysis::alerts {

// One value on its way to an edge of its band; celsius, or rh as fraction.
struct BandExit {
  base::ChannelRole role = base::ChannelRole::room_air_temperature;
  double value = 0.0;     // of the line, at the newest reading
  double per_hour = 0.0;  // positive = rising
  double edge = 0.0;
  base::Micros in{0};  // from the newest reading
};

struct BandOutlook {
  bool known = false;            // both values have a trend, or show that they have none
  std::optional<BandExit> exit;  // the sooner one
};

// A robust line through the readings of the last three hours (room/robust_trend.hpp); a slope that
// noise alone may have made is none. Not known: an absence within that time, less than an hour and
// a half of it, or a stale newest reading.
[[nodiscard]] BandOutlook band_outlook_from(const readiness::RoomEvidence& evidence,
                                            const readiness::FloorRequirements& requirements);

}  // namespace analysis::alerts
