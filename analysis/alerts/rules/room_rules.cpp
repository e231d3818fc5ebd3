// Rules about a room: its air, reading by reading, and its verdict and gates, once a round.
#include "analysis/alerts/alert_texts.hpp"
#include "analysis/alerts/observations.hpp"
#include "analysis/alerts/rules/band_outlook.hpp"
#include "analysis/alerts/rules/inside_band.hpp"
#include "analysis/alerts/rules/rule_steps.hpp"
#include "analysis/readiness/gates/gates.hpp"

namespace analysis::alerts {
namespace {

using readiness::GateState;

RuleInput out_of_band_input(const AirReading& reading) {
  const Inside temperature = inside_from_value(reading.temperature, reading.band.temperature_low,
                                               reading.band.temperature_high, kClearMarginKelvin);
  const Inside rh =
      inside_from_value(reading.rh, reading.band.rh_low, reading.band.rh_high, kClearMarginRh);
  return {negated(both(temperature.band, rh.band)), both(temperature.inner, rh.inner)};
}

std::vector<AlertValue> values_from(const AirReading& reading) {
  std::vector<AlertValue> values;
  if (reading.temperature) {
    values.push_back({"air_temperature_celsius", reading.temperature->value()});
  }
  if (reading.rh) {
    values.push_back({"air_percent_rh", base::percent_from_rh(*reading.rh)});
  }
  values.push_back({"dwell_done_hours", reading.dwell_done_hours});
  values.push_back({"dwell_left_hours", reading.dwell_left_hours});
  return values;
}

// nullopt where the gate does not apply, is unknown, or nothing is known.
std::optional<bool> gate_met(const readiness::RoomAssessment* assessment, std::string_view id) {
  const readiness::GateResult* gate = gate_of(assessment, id);
  return gate != nullptr && gate->state != GateState::unknown
             ? std::optional(gate->state == GateState::met)
             : std::nullopt;
}

// What a gate says under other limits than the job's.
std::optional<bool> met_under(std::optional<readiness::GateResult> gate) {
  return gate && gate->state != GateState::unknown ? std::optional(gate->state == GateState::met)
                                                   : std::nullopt;
}

class RoomStep {
 public:
  RoomStep(RuleSteps& steps, const AlertSettings& settings, const RoomObservation& room,
           UtcMicros now)
      : steps_(steps), settings_(settings), room_(room), now_(now) {}

  void step_all() {
    if (room_.laid) {
      end_rules_of_dwell();
    } else {
      step_verdict();
      step_dwell_done();
      step_soon();
      step_stack();
      step_slab();
    }
    step_condensation();
  }

 private:
  [[nodiscard]] bool firing(RuleKind kind) { return steps_.state(kind).phase == Phase::firing; }
  [[nodiscard]] auto text_of(RuleKind kind) const {
    return [this, kind](Transition transition) { return text_from_room(kind, transition, room_); };
  }
  [[nodiscard]] std::vector<AlertValue> hours() const {
    return room_.assessment == nullptr
               ? std::vector<AlertValue>{}
               : std::vector<AlertValue>{{"dwell_done_hours", room_.assessment->dwell_done_hours},
                                         {"dwell_left_hours", room_.assessment->dwell_left_hours}};
  }

  void end_rules_of_dwell();
  void step_verdict();
  void step_dwell_done();
  void step_soon();
  void step_stack();
  void step_condensation();
  void step_slab();

  RuleSteps& steps_;
  const AlertSettings& settings_;
  const RoomObservation& room_;
  UtcMicros now_;
};

void RoomStep::end_rules_of_dwell() {
  for (const RuleKind kind : kRulesOfDwell) {
    if (steps_.step(kind, {}, {false, true}) == Transition::cleared && calls_for_action(kind)) {
      steps_.tell(kind, Transition::cleared, text_from_laid(room_.room_id));
    }
  }
}

void RoomStep::step_verdict() {
  const bool known = room_.assessment != nullptr;
  const bool is_ready = known && room_.assessment->verdict == readiness::Verdict::ready;
  // Where nobody wants to hear the end of it, it ends by itself.
  const bool ends_alone = settings_.off.contains(RuleKind::no_longer_ready);
  const RuleInput ready_input = known ? RuleInput{is_ready, ends_alone && !is_ready} : RuleInput{};
  const RuleTiming ready_timing{settings_.ready_fire_after,
                                ends_alone ? settings_.no_longer_ready_fire_after : Micros{0}};
  if (steps_.step(RuleKind::ready, ready_timing, ready_input) == Transition::fired) {
    steps_.tell(RuleKind::ready, Transition::fired,
                text_from_room(RuleKind::ready, Transition::fired, room_), hours());
  }
  const bool told_ready = firing(RuleKind::ready);
  const RuleInput ended_input =
      known ? RuleInput{told_ready && !is_ready, told_ready && is_ready} : RuleInput{};
  if (steps_.step(RuleKind::no_longer_ready, {settings_.no_longer_ready_fire_after, Micros{0}},
                  ended_input) == Transition::fired) {
    steps_.tell(RuleKind::no_longer_ready, Transition::fired,
                text_from_room(RuleKind::no_longer_ready, Transition::fired, room_), hours());
    steps_.step(RuleKind::ready, {}, {false, true});
  }
}

void RoomStep::step_dwell_done() {
  const std::optional<bool> met = gate_met(room_.assessment, "dwell");
  const Transition transition = steps_.step(RuleKind::dwell_done, {}, {met, negated(met)});
  const bool reset_tells = transition == Transition::cleared && firing(RuleKind::dwell_reset);
  if (transition != Transition::none && !reset_tells) {
    steps_.tell(RuleKind::dwell_done, transition,
                text_from_room(RuleKind::dwell_done, transition, room_), hours());
  }
}

void RoomStep::step_soon() {
  const RuleKind kind = RuleKind::out_of_band_soon;
  if (firing(RuleKind::out_of_band)) {
    steps_.step(kind, {}, {false, true});  // it has come true, and that is told
    return;
  }
  if (room_.evidence == nullptr || room_.requirements == nullptr) {
    steps_.step(kind, settings_.out_of_band_soon, {});
    return;
  }
  const BandOutlook outlook = band_outlook_from(*room_.evidence, *room_.requirements);
  RuleInput input;
  if (outlook.exit && outlook.exit->in <= settings_.soon_within) {
    input = {true, false};
  } else if (outlook.known) {
    input = {false, !outlook.exit || outlook.exit->in > 2 * settings_.soon_within};
  }
  const Transition transition = steps_.step(kind, settings_.out_of_band_soon, input);
  if (transition != Transition::none) {
    std::vector<AlertValue> values;
    if (outlook.exit) {
      values = {{"hours_to_edge", base::hours_from(outlook.exit->in)}};
    }
    steps_.tell(kind, transition, text_from_outlook(transition, room_.room_id, outlook),
                std::move(values));
  }
}

void RoomStep::step_stack() {
  RuleInput input;
  const std::optional<bool> warm = gate_met(room_.assessment, "stack_core");
  if (warm && room_.evidence != nullptr) {
    const auto& delivered = room_.evidence->delivered_at;
    const bool late = gate_met(room_.assessment, "dwell").value_or(false) ||
                      (delivered && now_ - *delivered >= settings_.stack_late_after);
    input = {late && !*warm, *warm};
  }
  steps_.step_and_tell(RuleKind::stack_lagging, settings_.stack_lagging, input,
                       text_of(RuleKind::stack_lagging));
}

void RoomStep::step_condensation() {
  RuleInput input;
  if (room_.evidence != nullptr && room_.requirements != nullptr) {
    input.fire = negated(gate_met(room_.assessment, "condensation"));
    readiness::FloorRequirements clear = *room_.requirements;
    clear.condensation_margin.value = base::KelvinDelta{
        clear.condensation_margin.value.value() + settings_.condensation_clear_margin.value()};
    input.clear = met_under(readiness::gates::condensation_gate(clear, *room_.evidence));
  }
  steps_.step_and_tell(RuleKind::condensation_risk, settings_.condensation_risk, input,
                       text_of(RuleKind::condensation_risk));
}

void RoomStep::step_slab() {
  RuleInput input;
  if (room_.evidence != nullptr && room_.requirements != nullptr && room_.requirements->slab) {
    input.fire = gate_met(room_.assessment, "slab");
    readiness::FloorRequirements clear = *room_.requirements;
    clear.slab->rh_high.value = base::RelativeHumidity{clear.slab->rh_high.value.value() +
                                                       settings_.slab_clear_margin.value()};
    input.clear = negated(met_under(readiness::gates::slab_gate(clear, *room_.evidence)));
  }
  steps_.step_and_tell(RuleKind::slab_done, settings_.slab_done, input,
                       text_of(RuleKind::slab_done));
}

}  // namespace

std::vector<AlertMessage> step_air_alerts(std::vector<Alert>& alerts, const AlertSettings& settings,
                                          const AirReading& reading) {
  if (reading.laid) {
    return {};
  }
  RuleSteps steps(alerts, settings, reading.room_id, reading.at);
  for (const RuleKind kind : {RuleKind::out_of_band, RuleKind::dwell_reset}) {
    const auto& stepped_at = steps.state(kind).stepped_at;
    if (stepped_at && reading.at - *stepped_at > reading.longest_interval) {
      steps.break_off(kind);
    }
  }
  const auto text_of = [&](RuleKind kind) {
    return [&reading, kind](Transition transition) {
      return text_from_air(kind, transition, reading);
    };
  };
  steps.step_and_tell(RuleKind::out_of_band, settings.out_of_band, out_of_band_input(reading),
                      text_of(RuleKind::out_of_band), values_from(reading));
  steps.step_and_tell(RuleKind::dwell_reset, {Micros{0}, settings.dwell_reset_clear_after},
                      {reading.dwell_was_reset, reading.dwell_counting},
                      text_of(RuleKind::dwell_reset), values_from(reading));
  return steps.take_messages();
}

std::vector<AlertMessage> step_room_alerts(std::vector<Alert>& alerts,
                                           const AlertSettings& settings,
                                           const RoomObservation& room, UtcMicros now) {
  RuleSteps steps(alerts, settings, room.room_id, now);
  RoomStep(steps, settings, room, now).step_all();
  return steps.take_messages();
}

}  // namespace analysis::alerts
