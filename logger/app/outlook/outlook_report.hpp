// What `dwellog outlook` says, as data: when each room may be ready and what to do until then. Made
// from the store alone. Physics and judgement are analysis'; here they are asked and put in order.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/physics/panel/board_moisture.hpp"
#include "analysis/physics/panel/moisture_uptake.hpp"
#include "analysis/readiness/outlook/gap_outlook.hpp"
#include "analysis/readiness/room/room_advice.hpp"
#include "analysis/readiness/room/time_to_ready.hpp"
#include "analysis/readiness/room/water_balance.hpp"
#include "analysis/readiness/slab/slab_forecast.hpp"
#include "analysis/readiness/uncertainty/sensor_uncertainty.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/outlook/outlook_history.hpp"

namespace logger::app {

// In every section `missing`: one sentence for each thing that could not be said, with the key of
// job.json or the note that would give it.

struct WhenOutlook {
  // The delivery is noted for after the time of the outlook; then nothing is said of the cartons.
  std::optional<UtcMicros> delivery_ahead;
  analysis::base::Result<analysis::readiness::room::DwellExpectation,
                         analysis::readiness::room::NoTime>
      dwell = analysis::base::Failure{analysis::readiness::room::NoTime::no_data};
  // nullopt where the job does not ask for the core.
  std::optional<analysis::readiness::room::TimeOrReason> core;
  analysis::readiness::room::ReadyTime ready{
      analysis::base::Failure{analysis::readiness::room::NoTime::no_data}, {}};
  // The soonest that the hours allow, whatever the room does; nullopt without a delivery.
  std::optional<UtcMicros> not_before;
  bool in_doubt = false;  // nothing left to wait for, yet a gate of dwell or core is not met
  std::vector<std::string> open_by_hand;  // names of site gates that are not noted as met
  std::vector<analysis::readiness::GateResult> open_otherwise;  // dwell and core: if in doubt
  std::vector<std::string> missing;
};

struct HeatOutlook {
  std::optional<analysis::base::Celsius> delivered;             // as noted
  std::optional<analysis::readiness::StackResult> core;         // nullopt = not computed
  std::optional<analysis::readiness::StackTimeToWarm> to_warm;  // from now on
  // Why there is no time for the core, where its gate is not met.
  std::optional<analysis::readiness::room::NoTime> no_time;
  std::optional<analysis::base::SeriesPoint> probe;  // newest good reading, celsius
  std::optional<analysis::base::Celsius> air;        // mean of the last 3 h
  std::vector<std::string> advice;                   // how to stack; sentences
  bool advises_stacking = false;                     // the planned way is too slow
  std::vector<std::string> missing;
};

struct MoistureOutlook {
  std::optional<Micros> in_cartons;  // since the delivery
  std::optional<analysis::physics::CartonMoisture> cartons;
  analysis::physics::CartonWrap wrap = analysis::physics::CartonWrap::film_closed;
  bool wrap_assumed = false;
  bool carton_size_assumed = false;
  std::optional<analysis::base::MoistureContent> wood_emc;
  std::optional<analysis::physics::MoistureContentRange> board_emc;
  std::vector<std::string> missing;
};

struct SlabProbeOutlook {
  std::string channel_id;
  std::optional<UtcMicros> placed_at;
  std::optional<UtcMicros> settled_at;
  std::optional<analysis::base::RelativeHumidity> mean;  // over the averaging time of the job
  std::optional<analysis::base::RelativeHumidity> expanded_uncertainty;  // k = 2
  bool default_uncertainty = false;  // the forecast used its default
  SlotList course;                   // settled readings, RH as fraction
  bool course_cut = false;
  // nullopt where the job does not describe the slab; `missing` says so.
  std::optional<analysis::base::Result<analysis::readiness::SlabForecast,
                                       analysis::readiness::RefusedForecast>>
      forecast;
};

struct SlabOutlook {
  analysis::base::RelativeHumidity limit;           // as the job states it
  analysis::base::RelativeHumidity forecast_limit;  // less the guard where the job decides guarded
  std::optional<analysis::base::Metres> standard_depth;
  std::optional<analysis::base::Metres> probe_depth;
  std::optional<std::size_t> places_required;
  std::optional<analysis::base::RelativeHumidity> air_rh;  // mean of up to kAirDays
  double air_days = 0.0;                                   // recorded, behind it
  double horizon_years = 10.0;
  std::vector<SlabProbeOutlook> probes;
  std::vector<std::string> tests;  // by hand and under way, a sentence each
  std::vector<std::string> missing;
};

// Of a wooden subfloor, by pins.
struct WoodSubfloorOutlook {
  std::vector<std::string> tests;  // a sentence each
  std::vector<std::string> missing;
};

struct AirOutlook {
  analysis::readiness::ClimateBand band;  // as it is decided by
  analysis::readiness::room::AirKnown known;
  std::optional<analysis::readiness::room::RoomAdvice> advice;  // nullopt = outside the formulas
  std::optional<analysis::readiness::room::WaterBalance> water;
  std::optional<analysis::readiness::room::Air> wanted;  // where the steps end
  std::string for_slab;  // what the slab's gate asks for while it is not met; empty otherwise
  std::optional<analysis::base::Pascal> pressure;
  bool sea_level_assumed = false;
  bool air_changes_assumed = false;
  std::vector<std::string> missing;
};

struct MovementCase {
  analysis::base::MovementCoefficient coefficient;
  analysis::readiness::outlook::GapAnswer gap;
};
struct LoggedMovement {
  analysis::base::RelativeHumidity lowest_day;  // daily means since the delivery
  analysis::base::RelativeHumidity highest_day;
  std::size_t days = 0;
  analysis::base::Metres change;          // of the whole width, with the job's coefficient
  analysis::base::Metres typical_change;  // with the typical one
};
struct MovementOutlook {
  std::optional<JobMovement> planned;
  std::optional<analysis::base::RelativeHumidity> at_laying;  // the room's mean now
  std::optional<MovementCase> stated;                         // with the job's coefficient
  std::optional<MovementCase> typical;                        // with a usual board's
  std::optional<analysis::readiness::outlook::JointPractice> practice;
  std::optional<LoggedMovement> logged;
  std::vector<std::string> missing;
};

struct ChannelUncertainty {
  std::string channel_id;
  analysis::base::ChannelRole role{};
  analysis::readiness::SensorUncertainty parts;  // standard, in the file unit of the role
};
struct GuardLine {
  std::string limit;  // "room air temperature, each end"
  double guard = 0.0;
  std::string unit;
  bool added = false;  // the limit is a lower one without an end: the guard comes on top
};
struct UncertaintyOutlook {
  analysis::readiness::DecisionRule rule{};
  std::string rule_source;
  std::vector<ChannelUncertainty> channels;
  std::vector<std::string> unknown_channels;  // nothing says how accurate they are
  std::vector<GuardLine> guards;              // what a guarded decision takes from each limit
  std::optional<double> wrong_ready_probability;
};

struct RoomOutlook {
  std::string room_id;
  std::string room_name;
  double floor_area_m2 = 0.0;
  std::string floor_product;
  analysis::readiness::FloorRequirements requirements;
  analysis::readiness::RoomAssessment assessment;
  WhenOutlook when;
  HeatOutlook heat;                                  // empty while the delivery is ahead
  MoistureOutlook moisture;                          // likewise
  std::optional<SlabOutlook> slab;                   // nullopt = no slab below this floor
  std::optional<WoodSubfloorOutlook> wood_subfloor;  // nullopt = neither asked for nor noted
  AirOutlook air;
  MovementOutlook movement;
  UncertaintyOutlook uncertainty;
  std::optional<RoomCourse> course;
  std::vector<std::string> cautions;
};

struct OutlookReport {
  std::string job_name;
  bool simulated = false;
  UtcMicros now;
  std::vector<RoomOutlook> rooms;
};

// `room_id` empty = every room; invalid_input when the job has no such room. `at`: as of that time,
// from a full replay; nullopt = now. Cost: a pass over the log since the delivery, and for each
// room with a forecast about half a second.
[[nodiscard]] store::Result<OutlookReport> outlook_report_from(OpenedJob& opened,
                                                               const std::string& room_id,
                                                               std::optional<UtcMicros> at);

// For a terminal of 80 columns; plain text, no colour codes.
[[nodiscard]] std::string text_from_outlook(const OutlookReport& report, bool imperial);
// Units in the key names; one object, trailing line end.
[[nodiscard]] std::string json_from_outlook(const OutlookReport& report);

struct ChartFiles {
  std::filesystem::path folder;  // made when missing
  bool svg = true;               // otherwise PNG
};
// stack-, slab- and air-<room>, each where there is something to draw. Gives the files written;
// invalid_input, with nothing written, when one of them is there already.
[[nodiscard]] store::Result<std::vector<std::filesystem::path>> write_outlook_charts(
    const OutlookReport& report, const ChartFiles& files, bool imperial);

}  // namespace logger::app
