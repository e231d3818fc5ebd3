// Alert state machine. Pure: time is passed in, nothing is sent from here. Missing data never
// clears an alert: while an input is unknown, the state holds. One transition gives one message.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/base/time.hpp"
#include "analysis/readiness/verdict.hpp"

namespace analysis::alerts {

using base::Micros;
using base::UtcMicros;

// Values are permanent (stored).
enum class Phase : std::uint8_t { inactive = 1, pending = 2, firing = 3 };
[[nodiscard]] std::string_view name_of(Phase phase);  // "inactive"
[[nodiscard]] std::optional<Phase> phase_from_name(std::string_view name);

// The state of one rule for one subject. Survives a restart by value. The condition that leads on
// is "fire" in inactive and pending, "clear" in firing; only its clock runs.
struct RuleState {
  Phase phase = Phase::inactive;
  std::optional<UtcMicros> since;  // when this phase began; nullopt = never stepped
  Micros held{0};                  // how long the condition is known to have held without a break
  bool holding = false;            // it held at the last step; false also when unknown then
  std::optional<UtcMicros> stepped_at;  // the last step
  std::int64_t fired_count = 0;
  std::int64_t cleared_count = 0;
  bool operator==(const RuleState&) const = default;
};

struct RuleTiming {
  Micros fire_after{0};   // the fire condition must hold that long
  Micros clear_after{0};  // the clear condition must hold that long
  bool operator==(const RuleTiming&) const = default;
};

// What the world looks like to one rule now. Separate limits: between them neither is true.
// nullopt = not known; then the state holds and neither clock runs on.
struct RuleInput {
  std::optional<bool> fire;
  std::optional<bool> clear;
};

enum class Transition : std::uint8_t { none = 0, fired = 1, cleared = 2 };
[[nodiscard]] std::string_view name_of(Transition transition);  // "none", "fired", "cleared"

// One step at `now` (not earlier than the step before; an earlier one changes nothing). Time counts
// as held only between two steps that both found the condition true, so an unknown step leaves out
// the time on both sides of it. After a stop of the program give one step with a default RuleInput.
Transition step_rule(RuleState& state, const RuleTiming& timing, const RuleInput& input,
                     UtcMicros now);

// Moves the state along with a step of the host clock (positive = put forward), so that a clock
// set back does not leave the rule waiting for the old time to come round.
void follow_clock_step(RuleState& state, Micros step);

// One instance a room (r), a box (b), a channel (c), or the logger itself (l), whose subject is
// kLoggerSubject. Values are permanent (stored).
enum class RuleKind : std::uint8_t {
  out_of_band = 1,      // r: fires outside the band; clears 0.3 K and 1 %RH inside it
  dwell_reset = 2,      // r: an event: fires with a reset, clears once dwell counts again
  probe_silent = 3,     // b: never clears by missing data, only by a new sample
  ready = 4,            // r: verdict became ready; "cannot tell" is an answer too, and ends it
  no_longer_ready = 5,  // r: ready was told, and the verdict is not ready any more
  sensor_fault = 6,     // c: gives no usable value while its box delivers samples
  lid_open = 7,         // b: these four: what a box says of itself with its samples
  tilted = 8,
  supply_low = 9,
  self_test_failed = 10,
  out_of_band_soon = 11,      // r: the trend reaches the edge of the band within hours
  dwell_done = 12,            // r: the hours are complete
  stack_lagging = 13,         // r: the core is not warmed through when it should be
  condensation_risk = 14,     // r: the slab's surface is too near the dew point
  slab_rising = 15,           // c: the RH in the slab goes up
  slab_done = 16,             // r: the slab is dry enough
  calibration_expiring = 17,  // c: soon, or expired
  disk_low = 18,              // l: where the records are kept
  clock_unsure = 19,          // l: the machine's clock; b: the dates of its readings
  service_climate = 20,       // r: a laid floor's room is outside the climate to keep
};
inline constexpr const char* kLoggerSubject = "logger";
[[nodiscard]] std::string_view name_of(RuleKind kind);  // "out_of_band"
[[nodiscard]] std::optional<RuleKind> rule_from_name(std::string_view name);

// Good news needs nobody: it is not told again and not escalated.
[[nodiscard]] bool calls_for_action(RuleKind kind);

// Of dwell and verdict: of no use once the floor lies.
inline constexpr RuleKind kRulesOfDwell[] = {
    RuleKind::out_of_band,     RuleKind::dwell_reset,      RuleKind::ready,
    RuleKind::no_longer_ready, RuleKind::out_of_band_soon, RuleKind::dwell_done,
    RuleKind::stack_lagging,   RuleKind::slab_done};

// How far people have been told of an alert that fires. All of it begins anew with the next fire.
struct Telling {
  std::optional<UtcMicros> fired_at;  // as the message says; names this fire for acknowledgements
  std::string text;                   // of the message that told it
  std::optional<UtcMicros> told_at;   // when the first recipient was to get it
  std::optional<UtcMicros> last_told_at;  // that, or the last reminder
  std::vector<std::string> told;          // recipient ids
  int reminders = 0;
  bool escalated = false;
  bool operator==(const Telling&) const = default;
};

// One alert instance: rule + subject, with its state.
struct Alert {
  RuleKind kind = RuleKind::out_of_band;
  std::string subject;  // room, box or channel id, or kLoggerSubject
  RuleState state;
  Telling telling{};
  bool operator==(const Alert&) const = default;
};
[[nodiscard]] std::string key_of(const Alert& alert);  // "out_of_band/living-room"
// An inactive alert of that key; nullopt when it is none.
[[nodiscard]] std::optional<Alert> alert_from_key(std::string_view key);

// A number the message rests on; the name ends in its unit: "air_temperature_celsius".
struct AlertValue {
  std::string name;
  double value = 0.0;
  bool operator==(const AlertValue&) const = default;
};

struct AlertMessage {
  RuleKind kind = RuleKind::out_of_band;
  std::string subject;
  Transition transition = Transition::none;
  UtcMicros at;
  std::string text;  // one line for people, with values and units
  std::vector<AlertValue> values;
};

}  // namespace analysis::alerts
