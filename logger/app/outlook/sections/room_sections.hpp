// The sections of one room's outlook, each made from the same facts. Internal to the folder.
#pragma once

#include <string_view>

#include "logger/app/outlook/outlook_report.hpp"

namespace logger::app {

inline constexpr std::string_view kCoreGate = "stack_core";

struct RoomFacts {
  const Job& job;
  const JobRoom& room;
  const RoomTracker& tracker;
  const analysis::readiness::RoomEvidence& evidence;
  const analysis::readiness::RoomAssessment& assessment;
  const OutlookHistory& history;
  UtcMicros now;
};

// nullptr where the job asks for no such gate.
[[nodiscard]] const analysis::readiness::GateResult* gate_of(const RoomFacts& facts,
                                                             std::string_view id);
// nullopt where the job does not ask for the core.
[[nodiscard]] std::optional<analysis::readiness::room::TimeOrReason> core_time(
    const RoomFacts& facts);

[[nodiscard]] WhenOutlook when_from(const RoomFacts& facts);
[[nodiscard]] HeatOutlook heat_from(const RoomFacts& facts);
[[nodiscard]] MoistureOutlook moisture_from(const RoomFacts& facts);
// nullopt without a slab under the floor.
[[nodiscard]] std::optional<SlabOutlook> slab_from(const RoomFacts& facts);
// nullopt where the job asks for no test of wood and none is noted.
[[nodiscard]] std::optional<WoodSubfloorOutlook> wood_subfloor_from(const RoomFacts& facts);
[[nodiscard]] AirOutlook air_from(const RoomFacts& facts);
[[nodiscard]] MovementOutlook movement_from(const RoomFacts& facts);
[[nodiscard]] UncertaintyOutlook uncertainty_from(const RoomFacts& facts);

// Mean of the room air over the last 3 h; nullopt where too little was recorded.
[[nodiscard]] std::optional<analysis::base::Celsius> air_temperature_now(const RoomFacts& facts);
[[nodiscard]] std::optional<analysis::base::RelativeHumidity> air_rh_now(const RoomFacts& facts);

}  // namespace logger::app
