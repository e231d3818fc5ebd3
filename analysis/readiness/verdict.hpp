// The decision for one room at one moment: gates, verdict, reasons, what to do. Pure: everything it
// looks at is an argument, `now` included. It never fills an absence with a value: what was not
// measured or not recorded makes a gate unknown, and an unknown gate makes "cannot tell".
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/base/record.hpp"
#include "analysis/base/series.hpp"
#include "analysis/physics/panel/resistance_probe.hpp"
#include "analysis/readiness/calibration.hpp"
#include "analysis/readiness/dwell.hpp"
#include "analysis/readiness/requirements.hpp"
#include "analysis/readiness/stack/stack_tracker.hpp"

namespace analysis::readiness {

enum class Verdict : std::uint8_t { ready = 1, not_ready = 2, cannot_tell = 3 };
[[nodiscard]] std::string_view name_of(Verdict verdict);  // "ready", "not ready", "cannot tell"

enum class GateState : std::uint8_t { met = 1, not_met = 2, unknown = 3 };
[[nodiscard]] std::string_view name_of(GateState state);  // "met", "not met", "unknown"

// Stable names: "dwell", "stack_core", "slab", "slab_emission", "slab_carbide", "slab_age",
// "wood_subfloor", "condensation", "evidence", and "site.<gate>" for what a person observed.
inline constexpr std::string_view kSiteGatePrefix = "site.";
struct GateResult {
  std::string id;
  GateState state = GateState::unknown;
  std::string reason;  // one sentence with values and units
  std::string action;  // what to do; empty when met
  // Probability that the errors of the sensors alone made this "met" wrong; nullopt where nothing
  // was measured, the gate is not met, or nothing says how accurate a sensor is.
  std::optional<double> wrong_probability = std::nullopt;
  bool operator==(const GateResult&) const = default;
};

// One channel as the verdict needs it. `recent`: as far back as its gate looks, where recorded,
// in the channel's unit (celsius, rh as fraction, volt), good samples only.
struct ChannelEvidence {
  std::string box_id;
  int channel_index = 0;
  std::string channel_id;
  base::ChannelRole role = base::ChannelRole::room_air_temperature;
  base::Series recent;
  std::optional<UtcMicros> last_seen_at;  // newest record of the box, good or bad
  base::ChannelStatus last_status = base::ChannelStatus::not_fitted;
  std::optional<base::SeriesPoint> last_good;
  std::optional<UtcMicros> placed_at;  // slab probe put in its sleeve, core probe in a pack
  std::optional<UtcMicros> calibration_due_at;  // nullopt = never calibrated, no certificate known
  Quality last_quality = Quality::status_not_ok;  // of the newest record
  // In the channel's unit, over the time that counts; nullopt = nothing says how accurate it is.
  std::optional<double> standard_uncertainty;
};

struct SiteGateNote {
  SiteGate gate = SiteGate::room_kind;
  bool met = false;
  std::string by;
  std::string remark;
  UtcMicros at;
  // When it was written down, which is later where a note was dated back; nullopt = not known.
  std::optional<UtcMicros> noted_at{};
  std::string
      grounds{};        // what was measured or answered; empty = the note only says met or not met
  bool open = false;    // answered, but what decides is still to come; not met then
  std::string to_do{};  // of an open answer: what would close it
};

// The newest test of each kind that a person made on slab or wood; floor of a survey = of the room.
struct DishTestNote {
  EmissionSurvey survey;
  std::string by;
  UtcMicros at;
};
// Probes read by hand in drilled sleeves.
struct RhTestNote {
  RhInSlabTest test;
  std::string by;
  UtcMicros at;
};
struct CarbideTestNote {
  CarbideSurvey survey;
  std::string by;
  UtcMicros at;
};
// Pins in a wooden subfloor: what the meter showed, in wood of that temperature.
struct WoodReading {
  base::MoistureContent shown;
  Celsius wood;
};
struct WoodTestNote {
  std::vector<WoodReading> readings;  // at least one
  physics::MeterCompensation compensation = physics::MeterCompensation::none;
  physics::SpeciesScale species;
  std::string by;
  UtcMicros at;
};
struct SubfloorTests {
  std::optional<DishTestNote> dish;
  std::optional<CarbideTestNote> carbide;
  std::optional<WoodTestNote> wood;
  std::optional<RhTestNote> rh;
};

struct RoomEvidence {
  UtcMicros now;
  std::optional<UtcMicros> delivered_at;  // cartons closed and flat in the room
  std::optional<UtcMicros> slab_poured_at;
  DwellState dwell;                       // from delivery on
  std::vector<ChannelEvidence> channels;  // of this room
  std::vector<SiteGateNote> site_gates;   // newest note of each gate
  SubfloorTests subfloor_tests;
  std::optional<StackResult>
      stack;  // computed from the room air; nullopt = nothing to compute with
  std::optional<UtcMicros> probe_silent_since;  // a box of this room does not answer
};

struct RoomAssessment {
  UtcMicros at;
  Verdict verdict = Verdict::cannot_tell;
  std::vector<GateResult> gates;  // fixed order
  double dwell_done_hours = 0.0;
  double dwell_left_hours = 0.0;
  std::optional<UtcMicros> dwell_done_at;      // when the hours were first complete
  std::optional<UtcMicros> dwell_expected_at;  // if the room stays as it is; nullopt = unknown
  double unknown_share = 0.0;
  // At most this is the probability that sensor errors alone made the measured gates wrongly met:
  // the sum over them, which holds however the errors hang together. nullopt unless all measured
  // gates are met and every sensor they use has a known uncertainty.
  std::optional<double> wrong_ready_probability;
  bool operator==(const RoomAssessment&) const = default;
};

[[nodiscard]] RoomAssessment assess_room(const FloorRequirements& requirements,
                                         const RoomEvidence& evidence);

}  // namespace analysis::readiness
