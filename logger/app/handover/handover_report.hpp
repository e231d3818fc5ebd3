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

namespace logger::app {

// The run of the floor that moves, and where its figures come from.
struct MovingFloor {
  analysis::readiness::ServiceFloor floor;
  std::string run_source;  // "as the job states", "by the plan, across the rows"
  std::string gap_source;  // "as noted, the narrowest", "as the job states", "by the plan"
  // The room's mean over the dwell stands for the panels; else the middle of the climate to keep.
  bool laid_at_dwell_mean = false;
  double dwell_days = 0.0;
};

struct RoomHandover {
  std::string room_id;
  std::string room_name;
  double floor_area_m2 = 0.0;
  std::string floor_product;
  analysis::readiness::ServiceClimate climate;
  analysis::certificate::LayingFacts laying;
  std::string laid_by;  // of the note that it is finished; may be empty
  std::string laid_remark;
  std::vector<std::string> findings;  // where it differs from the plan
  std::optional<MovingFloor> moving;  // nullopt = the job tells neither width nor plan
  std::optional<analysis::readiness::ServiceReport> service;  // nullopt = not laid yet
  std::vector<std::string> missing;
};
struct HandoverReport {
  std::string job_name;
  std::string site_address;
  std::string installer;
  bool simulated = false;
  UtcMicros now;
  std::vector<RoomHandover> rooms;
};

// `room_id` empty = every room; invalid_input when the job has no such room. `at`: as of that time;
// nullopt = now. Cost: a pass over the
// log since the delivery.
[[nodiscard]] store::Result<HandoverReport> handover_report_from(OpenedJob& opened,
                                                                 const std::string& room_id,
                                                                 std::optional<UtcMicros> at);

// What both the text and the pages say, room by room.
[[nodiscard]] analysis::plan::CareDocument care_document_from(const HandoverReport& report,
                                                              bool imperial);
// For a terminal of 80 columns.
[[nodiscard]] std::string text_from_handover(const HandoverReport& report, bool imperial);
// Units in the key names; one object, trailing line end. Format "dwellog-handover/1".
[[nodiscard]] std::string json_from_handover(const HandoverReport& report);

}  // namespace logger::app
