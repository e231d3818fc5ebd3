// Feeds the dated records of a room's boxes into dwell accounting and channel windows. The daemon,
// `certify` and `verify` all go through here, so that a verdict can be recomputed from the readings
// alone. Pure; memory is bounded by the window, not by the length of the log.
#pragma once

#include <cstddef>
#include <deque>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "analysis/base/record.hpp"
#include "analysis/readiness/calibration.hpp"
#include "analysis/readiness/dwell.hpp"
#include "analysis/readiness/excursion_log.hpp"
#include "analysis/readiness/requirements.hpp"
#include "analysis/readiness/uncertainty/sensor_uncertainty.hpp"
#include "analysis/readiness/verdict.hpp"

namespace analysis::readiness {

struct ChannelSetup {
  std::string box_id;
  int channel_index = 0;
  std::string channel_id;  // unique in the job, for people: "air-t"
  ChannelScale scale;
  std::vector<DatedCalibration> calibrations;   // increasing valid_from
  std::optional<UtcMicros> calibration_due_at;  // of the calibration in force or the maker's paper
  std::optional<UtcMicros> placed_at;
  std::optional<SensorSpecification> specification;  // nullopt = nothing says how accurate it is
};

// Standard uncertainty in the channel's unit (celsius, rh as fraction, volt) for decisions over the
// time since `from`; nullopt = not known.
[[nodiscard]] std::optional<double> standard_uncertainty_from(const ChannelSetup& channel,
                                                              std::optional<UtcMicros> from);

// What the heat in the stack is computed from. The tracker starts with the noted delivery.
struct StackSetup {
  physics::StackGeometry geometry;
  std::optional<Celsius> delivered;  // of the cartons when they came; nullopt = nobody measured it
  bool operator==(const StackSetup&) const = default;
};

struct RoomSetup {
  std::string room_id;
  FloorRequirements requirements;
  std::vector<ChannelSetup> channels;     // exactly one box carries both room air channels
  std::optional<UtcMicros> delivered_at;  // dwell counts from here; nullopt = nothing counts
  std::optional<UtcMicros> slab_poured_at;
  std::optional<StackSetup> stack;  // nullopt = how the cartons lie was not entered
};

// The rules that the room's hours are counted by, its sensors' uncertainty included.
[[nodiscard]] DwellPolicy dwell_policy_from(const RoomSetup& setup);

// What one record meant for the room.
struct ReplayStep {
  std::vector<DwellReset> resets;
  // The reading that was handed to the dwell account and accepted; feed it to an ExcursionLog to
  // list what happened. nullopt for other boxes, before the delivery, and for late records.
  std::optional<DwellSample> counted;
  std::optional<DwellSample> air;  // the room air in it, whether it counts or not
};

// What is kept of one channel's recent past, in its unit: celsius, rh as fraction, volt.
struct ChannelWindow {
  std::deque<base::SeriesPoint> points;
  std::optional<UtcMicros> last_seen_at;
  base::ChannelStatus last_status = base::ChannelStatus::not_fitted;
  Quality last_quality = Quality::status_not_ok;
  std::optional<base::SeriesPoint> last_good;
};

// Windows that reach back farther than the room air's, by channel id. A restart hands them on, so
// that it need not read a day of records again.
using LongWindows = std::map<std::string, ChannelWindow>;

// How far back a restart must read records to refill every other window.
inline constexpr Micros kShortWindow = base::micros_from_hours(4);  // frozen_after is no longer

// What a replay leaves behind for a later one of the same setup.
struct ReplayMemory {
  DwellState dwell;
  LongWindows windows;
  std::optional<StackTrackerState> stack;
};

class RoomReplay {
 public:
  // Short windows start empty and the field of the stack at its arming; both are refilled with
  // warm().
  explicit RoomReplay(RoomSetup setup, const ReplayMemory& memory = {});

  // A record of one of the room's boxes, at its dated time; for each box in increasing order.
  // Records of boxes that carry no channel of this room are ignored.
  ReplayStep add(const std::string& box_id, const base::Record& record, UtcMicros at);
  // A record that was counted before a restart, from warm_from() on and in the same order; refills
  // channel windows and stack, does not touch the accounting.
  void warm(const std::string& box_id, const base::Record& record, UtcMicros at);
  // From where records must be given to warm(), `newest` being the time of the newest one counted.
  [[nodiscard]] UtcMicros warm_from(UtcMicros newest) const;

  [[nodiscard]] const RoomSetup& setup() const { return setup_; }
  [[nodiscard]] const DwellState& dwell() const { return account_.state(); }
  [[nodiscard]] const DwellPolicy& policy() const { return account_.policy(); }
  [[nodiscard]] ReplayMemory memory() const;
  // nullopt where the job does not tell how the cartons lie, or nobody noted how warm they came.
  [[nodiscard]] const std::optional<StackTracker>& stack() const { return stack_; }
  // Evidence at `now`; the caller adds the site gates. Windows hold kShortWindow; of the slab RH
  // the averaging time of its requirement, thinned to one reading a quarter of an hour, in which a
  // slab does not change.
  [[nodiscard]] RoomEvidence evidence(UtcMicros now) const;

 private:
  // Takes the record into the windows of its box, unless it is late; gives its room air reading,
  // nullopt for a box that does not carry it.
  std::optional<DwellSample> fill(const std::string& box_id, const base::Record& record,
                                  UtcMicros at);
  void take(ChannelWindow& window, const ChannelSetup& channel, const base::Record& record,
            const CalibratedValue& calibrated, UtcMicros at) const;
  void append(ChannelWindow& window, base::ChannelRole role, const base::SeriesPoint& point) const;
  [[nodiscard]] ChannelEvidence channel_evidence(std::size_t index) const;

  RoomSetup setup_;
  DwellAccount account_;
  std::string air_box_;                   // carries both room air channels; empty = none does
  std::vector<ChannelWindow> windows_;    // one for each channel of the setup
  std::vector<StillCount> still_counts_;  // as windows_
  std::optional<std::size_t> core_;       // place of the probe that the stack is compared with
  std::optional<StackTracker> stack_;
};

}  // namespace analysis::readiness
