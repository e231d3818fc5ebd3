#include "logger/app/alert_states.hpp"

#include "logger/notify/alert_json.hpp"

namespace logger::app {

using analysis::alerts::Alert;

store::AlertState row_from_alert(const Alert& alert) {
  return {key_of(alert), notify::json_from_rule_state(alert.state)};
}

store::Result<std::vector<Alert>> alerts_from_store(store::ReadingStore& store) {
  const auto rows = store.alert_states();
  if (!rows) {
    return store::Failure{rows.error()};
  }
  std::vector<Alert> alerts;
  for (const store::AlertState& row : rows.value()) {
    auto alert = analysis::alerts::alert_from_key(row.key);
    const auto state = notify::rule_state_from_json(row.state_json);
    if (!alert || !state) {
      return store::failure(store::ErrorCode::corrupt,
                            "alert state " + row.key + " in the store can't be read" +
                                (state ? "" : ": " + state.error().context));
    }
    alert->state = state.value();
    alerts.push_back(std::move(*alert));
  }
  return alerts;
}

analysis::alerts::RoomObservation room_observation_from(
    const RoomTracker& room, const analysis::readiness::RoomAssessment& assessment, bool reset,
    UtcMicros now) {
  using analysis::base::ChannelRole;
  const auto& requirements = room.replay().setup().requirements;
  analysis::alerts::RoomObservation seen;
  seen.room_id = room.room_id();
  seen.assessment = &assessment;
  seen.band = room.replay().policy().band;
  seen.dwell_was_reset = reset;
  seen.dwell_counting = room.replay().dwell().counting;
  for (const auto& channel : room.evidence(now).channels) {
    if (!channel.last_good || now - channel.last_good->at > requirements.longest_interval.value) {
      continue;
    }
    if (channel.role == ChannelRole::room_air_temperature) {
      seen.air_temperature = analysis::base::Celsius{channel.last_good->value};
    } else if (channel.role == ChannelRole::room_air_rh) {
      seen.air_rh = analysis::base::RelativeHumidity{channel.last_good->value};
    }
  }
  return seen;
}

std::vector<analysis::alerts::ChannelObservation> channel_observations_from(const RoomTracker& room,
                                                                            UtcMicros now) {
  const auto longest = room.replay().setup().requirements.longest_interval.value;
  std::vector<analysis::alerts::ChannelObservation> seen;
  for (const auto& channel : room.evidence(now).channels) {
    const bool heard = channel.last_seen_at && now - *channel.last_seen_at <= longest;
    const bool status_ok = channel.last_status == analysis::base::ChannelStatus::ok;
    seen.push_back(
        {channel.channel_id,
         std::string(status_ok ? name_of(channel.last_quality) : name_of(channel.last_status)),
         heard ? std::optional(channel.last_quality == analysis::readiness::Quality::good)
               : std::nullopt,
         channel.last_good ? std::optional(channel.last_good->at) : std::nullopt});
  }
  return seen;
}

}  // namespace logger::app
