// The room before the floor: where the stacks of cartons lie, where the slab is tested. Readable in
// black and white.
#pragma once

#include <string>
#include <vector>

#include "analysis/drawing/canvas.hpp"
#include "analysis/plan/room_plan.hpp"
#include "analysis/plan/slab_places/slab_places.hpp"
#include "analysis/plan/stacking/stack_places.hpp"

namespace analysis::plan {

struct SiteSheet {
  const RoomPlan& plan;
  const RoomPlanRequest& request;
  std::vector<PlacedStack> stacks;
  std::vector<Outline> clear;     // to be left free
  std::vector<PlaceMark> places;  // of tests
  int scale = 50;
  bool imperial = false;
};

// Takes frame_size (room_frame.hpp) from `top_left`. A stack shows how many cartons lie in it.
void draw_site(drawing::Canvas& canvas, drawing::Point top_left, const SiteSheet& sheet);

}  // namespace analysis::plan
