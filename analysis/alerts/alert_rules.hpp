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

// v1 rules, one instance a room (probe_silent: one a box; sensor_fault: one a
// channel; what a box says of itself: one a box). Values are
// permanent (stored).
enum class RuleKind : std::uint8_t {
  out_of_band = 1,      // fires outside the band; clears 0.3 K and 1 %RH inside it
  dwell_reset = 2,      // an event: fires with a reset, clears by itself once dwell counts again
  probe_silent = 3,     // never clears by missing data, only by a new sample
  ready = 4,            // verdict became ready; "cannot tell" is an answer too, and ends it
  no_longer_ready = 5,  // ready was told, and the verdict is not ready any more
  sensor_fault = 6,     // a channel gives no usable value while its box delivers samples
  lid_open = 7,         // these four: what a box says of itself with its samples
  tilted = 8,
  supply_low = 9,
  self_test_failed = 10,
};
[[nodiscard]] std::string_view name_of(RuleKind kind);  // "out_of_band"
[[nodiscard]] std::optional<RuleKind> rule_from_name(std::string_view name);

// Common practice, no source. An event cannot last, so dwell_reset has no fire_after; a sample ends
// silence at once, so probe_silent has no clear_after; ready and no_longer_ready end each other, so
// that exactly one of them stands once the room was ready.
struct AlertTimings {
  RuleTiming out_of_band{base::micros_from_hours(0.25), base::micros_from_hours(0.25)};
  Micros dwell_reset_clear_after = base::micros_from_hours(1);
  Micros probe_silent_fire_after = base::micros_from_hours(0.5);
  RuleTiming sensor_fault{base::micros_from_hours(0.5), base::micros_from_hours(0.25)};
  RuleTiming box_flags{Micros{0}, base::micros_from_hours(0.25)};  // lid, tilt, supply, self-test
  Micros ready_fire_after = base::micros_from_hours(0.5);
  Micros no_longer_ready_fire_after = base::micros_from_hours(0.5);
  bool operator==(const AlertTimings&) const = default;
};

// One alert instance: rule + subject, with its state.
struct Alert {
  RuleKind kind = RuleKind::out_of_band;
  std::string subject;  // room id, box id or channel id
  RuleState state;
  bool operator==(const Alert&) const = default;
};
[[nodiscard]] std::string key_of(const Alert& alert);  // "out_of_band/living-room"
// An inactive alert of that key; nullopt when it is none.
[[nodiscard]] std::optional<Alert> alert_from_key(std::string_view key);

// What the rules look at, for one room.
struct RoomObservation {
  std::string room_id;
  const readiness::RoomAssessment* assessment = nullptr;  // nullptr = not known
  readiness::ClimateBand band;
  std::optional<base::Celsius> air_temperature;  // newest good value not older than the
  std::optional<base::RelativeHumidity> air_rh;  // longest interval, else nullopt
  bool dwell_was_reset = false;                  // since the step before
  bool dwell_counting = false;                   // newest interval was in band
};
// One channel of a room, at the newest sample of its box.
struct ChannelObservation {
  std::string channel_id;
  std::string quality;         // of that sample, for people: "open_circuit", "frozen"
  std::optional<bool> usable;  // nullopt = the box gives no samples: probe_silent tells that
  std::optional<UtcMicros> last_good_at;
};
struct BoxObservation {
  std::string box_id;
  std::optional<UtcMicros> last_sample_at;  // nullopt = never heard
  UtcMicros expected_from;                  // when this run of the logger first tried to hear it
  std::optional<std::uint16_t> flags;       // of all samples since the step before; nullopt = none
};

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

// Steps all rules of a room or a box; creates instances that are missing in `alerts`. Messages in
// the order of RuleKind. When ready and no_longer_ready end each other, the one that fires tells
// it; the other clears without a message of its own.
std::vector<AlertMessage> step_room_alerts(std::vector<Alert>& alerts, const AlertTimings& timings,
                                           const RoomObservation& room, UtcMicros now);
std::vector<AlertMessage> step_box_alerts(std::vector<Alert>& alerts, const AlertTimings& timings,
                                          const BoxObservation& box, UtcMicros now);

std::vector<AlertMessage> step_channel_alerts(std::vector<Alert>& alerts,
                                              const AlertTimings& timings,
                                              const ChannelObservation& channel, UtcMicros now);

}  // namespace analysis::alerts
