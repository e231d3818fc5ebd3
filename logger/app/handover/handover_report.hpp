// What `dwellog handover` says, as data: what was laid, the climate to keep, how the floor moves,
// and what the room's air did with it since. Made from job.json and the store.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/certificate/facts.hpp"
#include "analysis/plan/handover/care_pages.hpp"
#include "analysis/readiness/service/service_report.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/handover/moving_floor.hpp"

namespace logger::app {

// What the paper can't say, and what the installer does about it.
struct HandoverLack {
  std::string what;  // for whoever lives there: no names of commands or keys
  std::string mend;
};

// What was answered to a gate's question on the site; empty = not noted.
struct GateAnswer {
  std::string word;
  std::string approval;  // who allows it
};

struct RoomHandover {
  std::string room_id;
  std::string room_name;
  double floor_area_m2 = 0.0;
  std::string floor_product;
  analysis::readiness::ServiceClimate climate;
  analysis::certificate::LayingFacts laying;
  GateAnswer heating;
  GateAnswer use;       // what the room is used for
  std::string laid_by;  // of the note that it is finished; may be empty
  std::string laid_remark;
  std::optional<analysis::readiness::PlannedFloor> planned;  // to compare with; nullopt = no plan
  std::optional<UtcMicros> delivered_late;                   // the delivery, where laying was first
  std::optional<MovingFloor> moving;  // nullopt = the job tells neither width nor plan
  std::optional<analysis::readiness::ServiceReport> service;  // nullopt = not laid yet
  std::vector<HandoverLack> missing;
};
struct HandoverReport {
  std::string job_name;
  std::string site_address;
  std::string installer;
  bool simulated = false;
  UtcMicros now;
  std::vector<RoomHandover> rooms;
};

// `room_id` empty = every room; `at`: as of that time, nullopt = now. invalid_input when the job
// has no such room or the time is to come. Cost: a pass over the log since the delivery.
[[nodiscard]] store::Result<HandoverReport> handover_report_from(OpenedJob& opened,
                                                                 const std::string& room_id,
                                                                 std::optional<UtcMicros> at);

// Where the floor as laid differs from its plan and from the order of the work, one clause each.
[[nodiscard]] std::vector<std::string> findings_of(const RoomHandover& room, bool imperial);

// What both the text and the pages say, room by room.
[[nodiscard]] analysis::plan::CareDocument care_document_from(const HandoverReport& report,
                                                              bool imperial);
// For a terminal of 80 columns.
[[nodiscard]] std::string text_from_handover(const HandoverReport& report, bool imperial);
// Units in the key names; one object, trailing line end. Format "dwellog-handover/1".
[[nodiscard]] std::string json_from_handover(const HandoverReport& report);

}  // namespace logger::app
