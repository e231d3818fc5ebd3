// The rule about the climate that a laid floor is to be kept in.
#include "analysis/alerts/alert_texts.hpp"
#include "analysis/alerts/observations.hpp"
#include "analysis/alerts/rules/inside_band.hpp"
#include "analysis/alerts/rules/rule_steps.hpp"

namespace analysis::alerts {
namespace {

RuleInput service_input(const ServiceObservation& room) {
  if (!room.air) {
    return {false, true};  // nothing lies there to be kept
  }
  const readiness::ServiceClimate& climate = room.climate;
  const Inside temperature = inside_from_value(room.air->temperature, climate.temperature_low,
                                               climate.temperature_high, kClearMarginKelvin);
  const Inside rh =
      inside_from_value(room.air->rh, climate.rh_low, climate.rh_high, kClearMarginRh);
  return {is_outside(*room.air, climate), both(temperature.inner, rh.inner)};
}

std::vector<AlertValue> values_from(const readiness::ServiceAir& air) {
  std::vector<AlertValue> values{{"mean_over_hours", base::hours_from(air.over)}};
  if (air.temperature) {
    values.push_back({"mean_air_temperature_celsius", air.temperature->value()});
  }
  if (air.rh) {
    values.push_back({"mean_air_percent_rh", base::percent_from_rh(*air.rh)});
  }
  return values;
}

}  // namespace

std::vector<AlertMessage> step_service_alerts(std::vector<Alert>& alerts,
                                              const AlertSettings& settings,
                                              const ServiceObservation& room, UtcMicros now) {
  RuleSteps steps(alerts, settings, room.room_id, now);
  const RuleTiming timing = room.air ? settings.service_climate : RuleTiming{};
  steps.step_and_tell(
      RuleKind::service_climate, timing, service_input(room),
      [&room](Transition transition) { return text_from_service(transition, room); },
      room.air ? values_from(*room.air) : std::vector<AlertValue>{});
  return steps.take_messages();
}

}  // namespace analysis::alerts
