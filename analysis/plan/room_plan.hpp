// The plan of one room: the floor within its gaps, joints where it is too large to move as one,
// rows for each part, and what to order. Pure.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/plan/gaps/gap_check.hpp"
#include "analysis/plan/gaps/pipe_holes.hpp"
#include "analysis/plan/layout/floor_joints.hpp"
#include "analysis/plan/layout/row_layout.hpp"
#include "analysis/plan/room/outline.hpp"
#include "analysis/plan/takeoff/take_off.hpp"

namespace analysis::plan {

// In the wall from corner `wall` of the region (from 1) to the next one.
struct DoorPlace {
  int wall = 0;
  Metres from_corner;
  Door door;
  bool joint = false;   // a movement joint in the doorway is asked for
  std::string adjoins;  // the room beyond, whose floor adjoins: a joint too; empty = none
};

// Limits: common practice, no source; the floor's own instructions win.
struct RoomPlanRequest {
  Region room;  // walls as measured; passed region_from
  std::vector<DoorPlace> doors;
  std::vector<PipePlace> pipes;
  std::optional<double> rows_degrees;   // of the rows, anticlockwise from x; wins over the light
  std::optional<double> light_degrees;  // of the main light: the rows lie along it
  bool begin_at_far_side = false;       // first row at the high end of y once turned
  PanelSize panel;
  LayoutRules rules;
  LayoutEffort effort = LayoutEffort::thorough;
  Metres wall_gap{0.010};
  Metres widest{7.0};             // across the rows: beyond it a joint
  std::optional<Metres> longest;  // along them; nullopt = no limit
  ServiceClimate climate;
  std::optional<RollSize> underlay;
  std::optional<RollSize> barrier;  // nullopt = none, or built into the underlay
  BarrierRules barrier_rules;
  Metres trim_bar{2.4};
};

struct FloorPart {
  Bounds field;  // round the part's floor, in the turned plan
  RowLayout layout;
  std::size_t column = 0;  // from the left; parts of one column lie behind each other
};
struct FloorJoint {
  bool along_rows = true;      // the profile lies along the rows, else across them
  int corner = 0;              // of `room`, from 1, that it begins at; 0 = at none
  std::vector<Bounds> strips;  // as wide as both gaps, where the floor has it; in the turned plan
};
struct RoomPlan {
  Region room;                  // turned so that the rows lie along x
  Region floor;                 // within its gaps, turned likewise
  double turned_degrees = 0.0;  // from the room as measured to `room`, anticlockwise
  std::vector<FloorPart> parts;
  // Where the first row lies: "along the wall from corner 1 to 2", or "at corner 3".
  std::string first_row;
  SquareMetres floor_area;  // of the room, as it is ordered by
  int panels = 0;
  int least_panels = 0;  // that any straight rows of this direction and these parts need
  std::vector<FloorJoint> joint_lines;
  Metres joints;               // length of the profiles between parts
  std::vector<GapCheck> gaps;  // of the widest part across the rows, of the longest one along them
  std::vector<PipeHole> pipes;
  std::optional<SheetNeed> underlay;
  std::optional<SheetNeed> barrier;
  TrimNeed trim;
  // What to mind: joints and why, gaps that are short, doors, pipes, rules that a row does not
  // keep.
  std::vector<Remark> remarks;
};

// What makes a room impossible to plan, one clause: opening_fault, inset, layout_fault; nullopt =
// nothing. Quick: no rows are laid.
[[nodiscard]] std::optional<std::string> room_plan_fault(const RoomPlanRequest& request);

// "A", "B" for the parts of a floor that has several, else empty.
[[nodiscard]] std::string part_name(const RoomPlan& plan, std::size_t part);

// Errors, one clause: those of room_plan_fault, row_layout_from and barrier_need_from.
[[nodiscard]] base::Result<RoomPlan, std::string> room_plan_from(const RoomPlanRequest& request);

}  // namespace analysis::plan
