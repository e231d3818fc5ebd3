// The run of a laid floor that moves: its length, the gap that counts for it, its coefficient, and
// where each of them comes from. Pure.
#pragma once

#include <optional>
#include <string>

#include "analysis/plan/room_plan.hpp"
#include "analysis/readiness/service/laid_floor.hpp"
#include "analysis/readiness/service/service_report.hpp"
#include "logger/app/job/job.hpp"

namespace logger::app {

struct MovingFloor {
  analysis::readiness::ServiceFloor floor;
  std::string run_source;  // "as the job states", "across its rows, by the plan"
  std::string gap_source;  // "as noted, the narrowest at walls 2-3, 4-1", "as the job states", "by
                           // the plan"
  std::string opening_joints;  // "end joint" or "long joint": which of the panels' one opens
  std::string growth_source;   // "the published limit for boards", "the figure given for it"
  // The room's mean over the dwell stands for the panels; else the middle of the climate to keep,
  // since `no_dwell`.
  bool laid_at_dwell_mean = false;
  double dwell_days = 0.0;
  std::string no_dwell = "the laying is not noted";
};

// By rooms[].movement; else, of the floor's runs by its plan across and along the rows, the one
// with the least gap for its length. At laying: the middle of the climate to keep. nullopt where
// the job tells neither. `plan` of the room's request, or null.
[[nodiscard]] std::optional<MovingFloor> moving_floor_from(
    const JobRoom& room, const analysis::plan::RoomPlan* plan,
    const analysis::readiness::LaidFloor& laid);

}  // namespace logger::app
