// The plan as a drawing at scale that a person can lay from: walls, doors, rows with their numbers,
// pieces with their lengths, joints. Readable in black and white.
#pragma once

#include <string>

#include "analysis/drawing/canvas.hpp"
#include "analysis/plan/room_plan.hpp"

namespace analysis::plan {

// REQUIRES: `plan` is of `request`; both outlive the drawing.
struct PlanSheet {
  const RoomPlan& plan;
  const RoomPlanRequest& request;
  int scale = 50;  // 50 = 1:50; frame_scale_for (room_frame.hpp)
  bool imperial = false;
};

// Rows lie from left to right, the first one of each part at the bottom. Takes frame_size from
// `top_left`. Lengths of pieces in centimetres, or in inches.
void draw_plan(drawing::Canvas& canvas, drawing::Point top_left, const PlanSheet& sheet);

// What the signs of the drawing mean, its doors among them; one sentence each.
[[nodiscard]] std::vector<std::string> plan_legend(const PlanSheet& sheet);

// A drawing of its own, as SVG, with its legend.
[[nodiscard]] base::Result<std::string, drawing::DrawError> plan_svg(const RoomPlan& plan,
                                                                     const RoomPlanRequest& request,
                                                                     bool imperial);

}  // namespace analysis::plan
