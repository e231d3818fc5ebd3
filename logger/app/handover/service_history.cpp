#include "logger/app/handover/service_history.hpp"

#include <algorithm>
#include <map>

#include "analysis/readiness/calibration.hpp"
#include "logger/app/room/channel_value.hpp"
#include "logger/app/room/history.hpp"

namespace logger::app {

using analysis::base::Celsius;
using analysis::base::ChannelRole;
using analysis::base::RelativeHumidity;
using analysis::readiness::ChannelSetup;
using analysis::readiness::outlook::SlotMeans;

namespace {

constexpr std::size_t kMostDwellDays = 400;
constexpr double kLeastDwellDays = 0.5;

}  // namespace

store::Result<ServiceHistory> service_history_from(store::ReadingStore& store, const Job& job,
                                                   const JobRoom& room, const JobRecords& records,
                                                   const ServiceTimes& times) {
  const auto setup = room_setup_from(job, room, records);
  const UtcMicros from =
      times.delivered_at ? std::min(*times.delivered_at, times.laid_at) : times.laid_at;
  SlotMeans dwell(from, analysis::readiness::kServiceDay, kMostDwellDays);
  analysis::readiness::ServiceLog log(times.laid_at);
  std::map<std::string, analysis::readiness::StillCount> still;
  const auto take = [&](const ChannelSetup& channel, UtcMicros at, double value) {
    const bool is_rh = channel.scale.role == ChannelRole::room_air_rh;
    if (at >= times.laid_at) {
      is_rh ? log.add(at, RelativeHumidity{value}) : log.add(at, Celsius{value});
    } else if (is_rh && at < times.laying_began_at) {
      dwell.add(at, value);
    }
  };
  const auto visited = visit_history(
      store, {boxes_of_room(job, room.id), from, times.now, {}},
      [&](const std::string& box_id, const Record& record, DatedTime at) {
        for (const ChannelSetup& channel : setup.channels) {
          if (channel.box_id != box_id || !is_room_air(channel.scale.role)) {
            continue;
          }
          if (const auto value = value_of(channel, record, at.at, still[channel.channel_id])) {
            take(channel, at.at, *value);
          }
        }
      });
  if (!visited) {
    return store::Failure{visited.error()};
  }
  ServiceHistory history{{}, 0.0, std::move(log)};
  const auto days = dwell.slots();
  history.dwell_days = recorded_of_newest(days, days.size());
  if (history.dwell_days >= kLeastDwellDays) {
    history.dwell_rh = RelativeHumidity{*mean_by_time(days)};
  }
  return history;
}

}  // namespace logger::app
