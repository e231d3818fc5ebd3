// The room before the floor: where the stacks of cartons lie, where the slab is tested. Readable in
// black and white.
#pragma once

#include <string>
#include <vector>

#include "analysis/drawing/canvas.hpp"
#include "analysis/plan/room/wall_stretch.hpp"
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
  std::vector<WallStretch> heaters;
  int scale = 50;
  bool imperial = false;
};

// Takes frame_size (room_frame.hpp) from `top_left`. A stack shows how many cartons lie in it.
void draw_site(drawing::Canvas& canvas, drawing::Point top_left, const SiteSheet& sheet);

// What its signs mean, of those that the sheet has; one sentence each.
[[nodiscard]] std::vector<std::string> site_legend(const SiteSheet& sheet);

// All of it as a drawing of its own, as SVG, with its legend; at the scale that fits a page.
[[nodiscard]] base::Result<std::string, drawing::DrawError> site_svg(SiteSheet sheet);

}  // namespace analysis::plan
