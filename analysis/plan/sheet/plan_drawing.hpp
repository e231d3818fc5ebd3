// The plan as a drawing at scale that a person can lay from: walls, gaps, doors, rows with their
// numbers, pieces with their lengths, joints. Readable in black and white.
#pragma once

#include <string>

#include "analysis/drawing/canvas.hpp"
#include "analysis/plan/room_plan.hpp"

namespace analysis::plan {

// The largest of 1:10, 1:20, 1:25, 1:50, 1:100, 1:200, 1:500 at which the room, with room for its
// measures, fits; for the largest one it may not.
[[nodiscard]] int scale_for(const RoomPlan& plan, drawing::Size space);

// Into `space` from `top_left`, centred, at `scale` (50 = 1:50). Rows lie from left to right, the
// first one at the bottom. Lengths in centimetres, in inches where `imperial`.
void draw_plan(drawing::Canvas& canvas, drawing::Point top_left, drawing::Size space,
               const RoomPlan& plan, int scale, bool imperial);

// A drawing of its own, as SVG.
[[nodiscard]] base::Result<std::string, drawing::DrawError> plan_svg(const RoomPlan& plan,
                                                                     bool imperial);

}  // namespace analysis::plan
