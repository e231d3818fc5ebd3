// What the rules look at, and their steps. Pure. A rule about the room air steps once for each of
// its readings, at the reading's own time, so that what a backlog holds is told as if it had come
// at once; the others step once a round. Each makes the alerts it misses, and gives its messages in
// the order of RuleKind.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "analysis/alerts/alert_settings.hpp"
#include "analysis/readiness/service/service_air.hpp"
#include "analysis/readiness/verdict.hpp"

namespace analysis::alerts {

// One reading of a room's air; nullopt = the channel gave nothing usable.
struct AirReading {
  std::string room_id;
  UtcMicros at;
  readiness::ClimateBand band{};
  Micros longest_interval{0};  // what lies between readings farther apart is not known
  std::optional<base::Celsius> temperature{};
  std::optional<base::RelativeHumidity> rh{};
  bool dwell_was_reset = false;  // by this reading
  bool dwell_counting = false;   // the interval up to it was in band
  double dwell_done_hours = 0.0;
  double dwell_left_hours = 0.0;
  bool laid = false;  // it is of after the floor was laid: no rule of the dwell looks at it
};
// Readings of one room in order of time; an earlier one than the last changes nothing.
std::vector<AlertMessage> step_air_alerts(std::vector<Alert>& alerts, const AlertSettings& settings,
                                          const AirReading& reading);

struct RoomObservation {
  std::string room_id;
  const readiness::RoomAssessment* assessment = nullptr;  // nullptr = not known, as the two below
  const readiness::RoomEvidence* evidence = nullptr;
  const readiness::FloorRequirements* requirements = nullptr;
  bool laid = false;
};
// When ready and no_longer_ready end each other, the one that fires tells it; the other clears
// without a message of its own. So does out_of_band_soon when the air is out, and dwell_done when a
// reset is told. Once the floor is laid the rules of dwell and verdict rest: what fired of them
// ends, and that is told of those that call for action.
std::vector<AlertMessage> step_room_alerts(std::vector<Alert>& alerts,
                                           const AlertSettings& settings,
                                           const RoomObservation& room, UtcMicros now);

struct ServiceObservation {
  std::string room_id;
  readiness::ServiceClimate climate{};
  std::optional<readiness::ServiceAir> air;  // nullopt = the floor is not laid
};
// By the means of service_mean_over; too few readings for one change nothing.
std::vector<AlertMessage> step_service_alerts(std::vector<Alert>& alerts,
                                              const AlertSettings& settings,
                                              const ServiceObservation& room, UtcMicros now);

// One channel, at the newest sample of its box.
struct ChannelObservation {
  std::string channel_id;
  std::string quality;         // of that sample, for people: "open_circuit", "frozen"
  std::optional<bool> usable;  // nullopt = the box gives no samples: probe_silent tells that
  std::optional<UtcMicros> last_good_at;
  std::optional<UtcMicros> calibration_due_at;     // nullopt = no certificate known
  std::vector<base::SeriesPoint> settled_slab_rh;  // fraction; of a slab probe that has settled
};
std::vector<AlertMessage> step_channel_alerts(std::vector<Alert>& alerts,
                                              const AlertSettings& settings,
                                              const ChannelObservation& channel, UtcMicros now);

struct BoxObservation {
  std::string box_id;
  std::optional<UtcMicros> last_sample_at;  // nullopt = never heard
  UtcMicros expected_from;                  // when this run of the logger first tried to hear it
  std::optional<std::uint16_t> flags;       // of all samples since the step before; nullopt = none
  std::optional<Micros> time_error;         // of its newest reading's date
};
std::vector<AlertMessage> step_box_alerts(std::vector<Alert>& alerts, const AlertSettings& settings,
                                          const BoxObservation& box, UtcMicros now);

struct LoggerObservation {
  std::optional<bool> clock_synchronised;    // nullopt = nobody says
  Micros clock_step{0};                      // since the step before; positive = put forward
  std::optional<std::int64_t> free_bytes{};  // of the disk with the records
  std::optional<std::int64_t> disk_bytes{};
  std::int64_t store_bytes = 0;
  std::int64_t store_limit_bytes = 0;  // 0 = none
};
std::vector<AlertMessage> step_logger_alerts(std::vector<Alert>& alerts,
                                             const AlertSettings& settings,
                                             const LoggerObservation& logger, UtcMicros now);

}  // namespace analysis::alerts
