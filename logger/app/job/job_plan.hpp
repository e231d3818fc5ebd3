// What job.json says of laying a room's floor: its outline, panels, rolls and rules.
#pragma once

#include <string>
#include <vector>

#include "analysis/plan/room_plan.hpp"

namespace logger::app {

struct JobPlan {
  analysis::plan::RoomPlanRequest request;
  analysis::plan::PackSize pack;
  std::vector<std::string> fixed_items;  // names, in the order of request.room.holes
  double waste_rule_fraction = 0.10;
  int packs_delivered = 0;
  bool underlay_has_barrier = false;
  std::string source;
};

}  // namespace logger::app
