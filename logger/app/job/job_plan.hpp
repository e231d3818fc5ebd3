// What job.json says of laying a room's floor: its outline, panels, rolls and rules.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/base/time.hpp"
#include "analysis/plan/room/wall_stretch.hpp"
#include "analysis/plan/room_plan.hpp"
#include "analysis/plan/slab_places/slab_places.hpp"
#include "analysis/plan/takeoff/order_terms.hpp"

namespace logger::app {

struct JobPlan {
  analysis::plan::RoomPlanRequest request;
  analysis::plan::PackSize pack;
  std::vector<std::string> fixed_items;  // names, in the order of request.room.holes
  double waste_rule_fraction = 0.10;
  int packs_delivered = 0;
  bool underlay_has_barrier = false;
  analysis::plan::OrderTerms terms;
  std::optional<analysis::base::UtcMicros> laying_on;  // the begin of that day, UTC
  std::optional<analysis::base::Celsius> kept_at;      // nullopt = the middle of the room's band
  double floor_bears_kg_per_m2 = 200.0;                // common practice, no source
  std::vector<analysis::plan::WallStretch> heaters;
  analysis::plan::SlabPlaceRules slab_places;
  std::optional<analysis::plan::WettestPlace> wettest;  // of the slab
  std::string source;
};

}  // namespace logger::app
