#include "analysis/alerts/alert_rules.hpp"

#include <algorithm>

#include "analysis/alerts/alert_texts.hpp"
#include "analysis/base/record.hpp"

namespace analysis::alerts {
namespace {

// How far inside the band the air must be before an alert ends. Common practice, no source. A
// narrow band would otherwise leave no room to clear in, so at most a quarter of its width.
constexpr double kClearMarginKelvin = 0.3;
constexpr double kClearMarginRh = 0.01;

struct Inside {
  std::optional<bool> band;   // nullopt = value not known
  std::optional<bool> inner;  // inside by the clear margin
};

template <class Quantity>
Inside inside_from_value(std::optional<Quantity> value, Quantity low, Quantity high,
                         double clear_margin) {
  if (!value) {
    return {};
  }
  const double margin = std::min(clear_margin, (high.value() - low.value()) / 4.0);
  return {*value >= low && *value <= high,
          value->value() >= low.value() + margin && value->value() <= high.value() - margin};
}

// Three-valued: one false decides, else one unknown leaves it open.
std::optional<bool> both(std::optional<bool> a, std::optional<bool> b) {
  if ((a && !*a) || (b && !*b)) {
    return false;
  }
  return a && b ? std::optional(true) : std::nullopt;
}

RuleInput out_of_band_input(const RoomObservation& room) {
  const Inside temperature = inside_from_value(room.air_temperature, room.band.temperature_low,
                                               room.band.temperature_high, kClearMarginKelvin);
  const Inside rh =
      inside_from_value(room.air_rh, room.band.rh_low, room.band.rh_high, kClearMarginRh);
  const std::optional<bool> in_band = both(temperature.band, rh.band);
  return {in_band ? std::optional(!*in_band) : std::nullopt, both(temperature.inner, rh.inner)};
}

std::vector<AlertValue> values_from_room(const RoomObservation& room) {
  std::vector<AlertValue> values;
  if (room.air_temperature) {
    values.push_back({"air_temperature_celsius", room.air_temperature->value()});
  }
  if (room.air_rh) {
    values.push_back({"air_percent_rh", base::percent_from_rh(*room.air_rh)});
  }
  if (room.assessment != nullptr) {
    values.push_back({"dwell_done_hours", room.assessment->dwell_done_hours});
    values.push_back({"dwell_left_hours", room.assessment->dwell_left_hours});
  }
  return values;
}

// The state of that instance, made when it is missing. A reference ends with the next call.
RuleState& state_of(std::vector<Alert>& alerts, RuleKind kind, const std::string& subject) {
  const auto found = std::find_if(alerts.begin(), alerts.end(), [&](const Alert& alert) {
    return alert.kind == kind && alert.subject == subject;
  });
  return found != alerts.end() ? found->state : alerts.emplace_back(Alert{kind, subject, {}}).state;
}

class RoomStep {
 public:
  RoomStep(std::vector<Alert>& alerts, const RoomObservation& room, UtcMicros now)
      : alerts_(alerts), room_(room), now_(now) {}

  Transition step(RuleKind kind, const RuleTiming& timing, const RuleInput& input) {
    return step_rule(state(kind), timing, input, now_);
  }
  RuleState& state(RuleKind kind) { return state_of(alerts_, kind, room_.room_id); }
  void tell(RuleKind kind, Transition transition) {
    messages_.push_back({kind, room_.room_id, transition, now_,
                         text_from_room(kind, transition, room_), values_from_room(room_)});
  }
  void step_and_tell(RuleKind kind, const RuleTiming& timing, const RuleInput& input) {
    const Transition transition = step(kind, timing, input);
    if (transition != Transition::none) {
      tell(kind, transition);
    }
  }
  std::vector<AlertMessage> take_messages() { return std::move(messages_); }

 private:
  std::vector<Alert>& alerts_;
  const RoomObservation& room_;
  UtcMicros now_;
  std::vector<AlertMessage> messages_;
};

void step_verdict_rules(RoomStep& steps, const AlertTimings& timings,
                        const readiness::RoomAssessment* assessment) {
  const bool known = assessment != nullptr;
  const bool is_ready = known && assessment->verdict == readiness::Verdict::ready;
  const RuleInput ready_input = known ? RuleInput{is_ready, false} : RuleInput{};
  if (steps.step(RuleKind::ready, {timings.ready_fire_after, Micros{0}}, ready_input) ==
      Transition::fired) {
    steps.tell(RuleKind::ready, Transition::fired);
  }
  const bool told_ready = steps.state(RuleKind::ready).phase == Phase::firing;
  const RuleInput ended_input =
      known ? RuleInput{told_ready && !is_ready, told_ready && is_ready} : RuleInput{};
  if (steps.step(RuleKind::no_longer_ready, {timings.no_longer_ready_fire_after, Micros{0}},
                 ended_input) == Transition::fired) {
    steps.tell(RuleKind::no_longer_ready, Transition::fired);
    steps.step(RuleKind::ready, {}, {false, true});
  }
}

struct FlagRule {
  RuleKind kind;
  std::uint16_t flag;
};
constexpr FlagRule kFlagRules[] = {{RuleKind::lid_open, base::kFlagLidOpen},
                                   {RuleKind::tilted, base::kFlagTilted},
                                   {RuleKind::supply_low, base::kFlagSupplyLow},
                                   {RuleKind::self_test_failed, base::kFlagSelfTestFailed}};

void step_flags(std::vector<Alert>& alerts, const AlertTimings& timings, const BoxObservation& box,
                UtcMicros now, std::vector<AlertMessage>& messages) {
  for (const FlagRule& rule : kFlagRules) {
    const std::optional<bool> set =
        box.flags ? std::optional((*box.flags & rule.flag) != 0) : std::nullopt;
    const Transition transition =
        step_rule(state_of(alerts, rule.kind, box.box_id), timings.box_flags,
                  {set, set ? std::optional(!*set) : std::nullopt}, now);
    if (transition != Transition::none) {
      messages.push_back(
          {rule.kind, box.box_id, transition, now, text_from_flag(rule.kind, transition, box), {}});
    }
  }
}

}  // namespace

std::vector<AlertMessage> step_room_alerts(std::vector<Alert>& alerts, const AlertTimings& timings,
                                           const RoomObservation& room, UtcMicros now) {
  RoomStep steps(alerts, room, now);
  steps.step_and_tell(RuleKind::out_of_band, timings.out_of_band, out_of_band_input(room));
  steps.step_and_tell(RuleKind::dwell_reset, {Micros{0}, timings.dwell_reset_clear_after},
                      {room.dwell_was_reset, room.dwell_counting});
  step_verdict_rules(steps, timings, room.assessment);
  return steps.take_messages();
}

std::vector<AlertMessage> step_box_alerts(std::vector<Alert>& alerts, const AlertTimings& timings,
                                          const BoxObservation& box, UtcMicros now) {
  // Samples from before this run of the logger say nothing about the box being silent now.
  const UtcMicros heard_at =
      std::max(box.last_sample_at.value_or(box.expected_from), box.expected_from);
  const Micros silent_for = now - heard_at;
  const bool silent = silent_for >= timings.probe_silent_fire_after;
  const bool heard =
      box.last_sample_at && now - *box.last_sample_at < timings.probe_silent_fire_after;
  std::vector<AlertMessage> messages;
  RuleState& state = state_of(alerts, RuleKind::probe_silent, box.box_id);
  const Transition transition = step_rule(state, RuleTiming{}, {silent, heard}, now);
  if (transition != Transition::none) {
    const double silent_minutes = base::hours_from(silent_for) * 60.0;
    messages.push_back({RuleKind::probe_silent,
                        box.box_id,
                        transition,
                        now,
                        text_from_box(transition, box, now),
                        {{"silent_for_minutes", silent_minutes}}});
  }
  step_flags(alerts, timings, box, now, messages);
  return messages;
}

std::vector<AlertMessage> step_channel_alerts(std::vector<Alert>& alerts,
                                              const AlertTimings& timings,
                                              const ChannelObservation& channel, UtcMicros now) {
  RuleState& state = state_of(alerts, RuleKind::sensor_fault, channel.channel_id);
  const std::optional<bool> faulty =
      channel.usable ? std::optional(!*channel.usable) : std::nullopt;
  const Transition transition =
      step_rule(state, timings.sensor_fault, {faulty, channel.usable}, now);
  if (transition == Transition::none) {
    return {};
  }
  return {{RuleKind::sensor_fault,
           channel.channel_id,
           transition,
           now,
           text_from_channel(transition, channel),
           {}}};
}

}  // namespace analysis::alerts
