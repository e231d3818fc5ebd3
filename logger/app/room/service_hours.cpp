#include "logger/app/room/service_hours.hpp"

#include <algorithm>
#include <map>

#include "logger/app/room/channel_value.hpp"

namespace logger::app {

using analysis::base::ChannelRole;
using analysis::readiness::ServiceAir;
using analysis::readiness::ServiceAirWindow;
using store::Result;

Result<ServiceAirWindow> service_window_from(store::ReadingStore& store, const Job& job,
                                             const RoomTracker& tracker, UtcMicros now) {
  ServiceAirWindow window(job.alerts.settings.service_mean_over);
  const auto& laid_at = tracker.notes().laid_at;
  if (!laid_at || now < *laid_at) {
    return window;
  }
  const auto& channels = tracker.replay().setup().channels;
  std::map<std::string, analysis::readiness::StillCount> still;
  const auto visited = visit_history(
      store,
      {boxes_of_room(job, tracker.room_id()), std::max(*laid_at, now - window.over()), now, {}},
      [&](const std::string& box_id, const Record& record, DatedTime at) {
        for (const auto& channel : channels) {
          if (channel.box_id != box_id || !is_room_air(channel.scale.role)) {
            continue;
          }
          const auto value = value_of(channel, record, at.at, still[channel.channel_id]);
          if (value && channel.scale.role == ChannelRole::room_air_rh) {
            window.add(at.at, analysis::base::RelativeHumidity{*value});
          } else if (value) {
            window.add(at.at, analysis::base::Celsius{*value});
          }
        }
      });
  return visited ? Result<ServiceAirWindow>(std::move(window)) : store::Failure{visited.error()};
}

Result<std::optional<ServiceAir>> service_air_from(store::ReadingStore& store, const Job& job,
                                                   const RoomTracker& tracker, UtcMicros now) {
  if (!tracker.notes().laid_at) {
    return std::optional<ServiceAir>{};
  }
  const auto window = service_window_from(store, job, tracker, now);
  return window ? Result<std::optional<ServiceAir>>(window.value().air_at(now))
                : store::Failure{window.error()};
}

}  // namespace logger::app
