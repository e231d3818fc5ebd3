// Alert state machine. Pure: time is passed in, nothing is sent from here. Missing data never clears
// an alert: while an input is unknown, the state holds. One transition gives one message.
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

enum class Phase : std::uint8_t { inactive = 1, pending = 2, firing = 3 };
[[nodiscard]] std::string_view name_of(Phase phase);

// The state of one rule for one subject. Survives a restart by value.
struct RuleState {
  Phase phase = Phase::inactive;
  std::optional<UtcMicros> pending_since;   // condition true without a break since then
  std::optional<UtcMicros> firing_since;
  std::optional<UtcMicros> clearing_since;  // clear condition true without a break since then
  std::int64_t fired_count = 0;
  std::int64_t cleared_count = 0;
  bool operator==(const RuleState&) const = default;
};

struct RuleTiming {
  Micros fire_after{0};   // the fire condition must hold that long
  Micros clear_after{0};  // the clear condition must hold that long
};

// What the world looks like to one rule now. Separate limits: between them neither is true.
// nullopt = not known; then the state holds and neither clock runs on.
struct RuleInput {
  std::optional<bool> fire;
  std::optional<bool> clear;
};

enum class Transition : std::uint8_t { none = 0, fired = 1, cleared = 2 };

// One step at `now` (not earlier than the step before; an earlier one changes nothing).
Transition step_rule(RuleState& state, const RuleTiming& timing, const RuleInput& input,
                     UtcMicros now);

// v1 rules, one instance a room (probe_silent: one a box). Values are permanent (stored).
enum class RuleKind : std::uint8_t {
  out_of_band = 1,      // fires outside the band; clears 0.3 K and 1 %RH inside it
  dwell_reset = 2,      // an event: fires with a reset, clears by itself once dwell counts again
  probe_silent = 3,     // never clears by missing data, only by a new sample
  ready = 4,            // verdict became ready
  no_longer_ready = 5,  // verdict was ready and is not any more
};
[[nodiscard]] std::string_view name_of(RuleKind kind);  // "out_of_band"
[[nodiscard]] std::optional<RuleKind> rule_from_name(std::string_view name);

struct AlertTimings {
  RuleTiming out_of_band{base::micros_from_hours(0.25), base::micros_from_hours(0.25)};
  RuleTiming dwell_reset{Micros{0}, base::micros_from_hours(1)};
  RuleTiming probe_silent{base::micros_from_hours(0.5), Micros{0}};
  RuleTiming ready{base::micros_from_hours(0.5), base::micros_from_hours(0.5)};
  RuleTiming no_longer_ready{base::micros_from_hours(0.5), base::micros_from_hours(0.5)};
};

// One alert instance: rule + subject, with its state.
struct Alert {
  RuleKind kind = RuleKind::out_of_band;
  std::string subject;  // room id or box id
  RuleState state;
};
[[nodiscard]] std::string key_of(const Alert& alert);  // "out_of_band/living-room"

// What the rules look at, for one room.
struct RoomObservation {
  std::string room_id;
  const readiness::RoomAssessment* assessment = nullptr;
  readiness::ClimateBand band;
  std::optional<base::Celsius> air_temperature;          // newest good value not older than the
  std::optional<base::RelativeHumidity> air_rh;          // longest interval, else nullopt
  bool dwell_was_reset = false;                          // since the step before
  bool dwell_counting = false;                           // newest interval was in band
};
struct BoxObservation {
  std::string box_id;
  std::optional<UtcMicros> last_sample_at;  // nullopt = never heard
  UtcMicros expected_from;                  // when the logger first tried to hear it
};

struct AlertMessage {
  RuleKind kind = RuleKind::out_of_band;
  std::string subject;
  Transition transition = Transition::none;
  UtcMicros at;
  std::string text;  // one line for people, with values and units
};

// Steps all rules of a room or a box; creates instances that are missing in `alerts`.
std::vector<AlertMessage> step_room_alerts(std::vector<Alert>& alerts, const AlertTimings& timings,
                                           const RoomObservation& room, UtcMicros now);
std::vector<AlertMessage> step_box_alerts(std::vector<Alert>& alerts, const AlertTimings& timings,
                                          const BoxObservation& box, UtcMicros now);

}  // namespace analysis::alerts
