#include "analysis/alerts/alert_rules.hpp"

namespace analysis::alerts {
namespace {

void enter(RuleState& state, Phase phase, UtcMicros now) {
  state.phase = phase;
  state.since = now;
  state.held = Micros{0};
  state.holding = false;
}

// Runs the clock of one condition; true once it has held for `needed`.
bool held_long_enough(RuleState& state, bool condition, Micros since_last_step, Micros needed) {
  if (!condition) {
    state.held = Micros{0};
    state.holding = false;
    return false;
  }
  if (state.holding) {
    state.held += since_last_step;
  }
  state.holding = true;
  return state.held >= needed;
}

Transition step_firing(RuleState& state, const RuleTiming& timing, const RuleInput& input,
                       Micros since_last_step, UtcMicros now) {
  if (!input.clear) {
    state.holding = false;
    return Transition::none;
  }
  // A caller that says both has not parted its limits; firing is the careful reading.
  const bool clear = *input.clear && !input.fire.value_or(false);
  if (!held_long_enough(state, clear, since_last_step, timing.clear_after)) {
    return Transition::none;
  }
  enter(state, Phase::inactive, now);
  ++state.cleared_count;
  return Transition::cleared;
}

Transition step_quiet(RuleState& state, const RuleTiming& timing, const RuleInput& input,
                      Micros since_last_step, UtcMicros now) {
  if (!input.fire) {
    state.holding = false;
    return Transition::none;
  }
  if (*input.fire && state.phase == Phase::inactive) {
    enter(state, Phase::pending, now);
  }
  if (held_long_enough(state, *input.fire, since_last_step, timing.fire_after)) {
    enter(state, Phase::firing, now);
    ++state.fired_count;
    return Transition::fired;
  }
  if (!*input.fire && state.phase == Phase::pending) {
    enter(state, Phase::inactive, now);
  }
  return Transition::none;
}

}  // namespace

Transition step_rule(RuleState& state, const RuleTiming& timing, const RuleInput& input,
                     UtcMicros now) {
  if (state.stepped_at && now < *state.stepped_at) {
    return Transition::none;
  }
  const Micros since_last_step = state.stepped_at ? now - *state.stepped_at : Micros{0};
  state.stepped_at = now;
  if (!state.since) {
    state.since = now;
  }
  return state.phase == Phase::firing ? step_firing(state, timing, input, since_last_step, now)
                                      : step_quiet(state, timing, input, since_last_step, now);
}

void follow_clock_step(RuleState& state, Micros step) {
  if (state.since) {
    state.since = *state.since + step;
  }
  if (state.stepped_at) {
    state.stepped_at = *state.stepped_at + step;
  }
}

}  // namespace analysis::alerts
