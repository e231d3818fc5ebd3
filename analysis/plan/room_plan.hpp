// The plan of one room: the floor within its gaps, joints where it is too large to move as one,
// rows for each part, and what to order. Pure.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/plan/layout/row_layout.hpp"
#include "analysis/plan/room/outline.hpp"
#include "analysis/plan/takeoff/take_off.hpp"

namespace analysis::plan {

// In the wall from corner `wall` (from 1) to the next one.
struct DoorPlace {
  int wall = 0;
  Metres from_corner;
  Door door;
};

// Limits: common practice, no source; the floor's own instructions win.
struct RoomPlanRequest {
  Region room;  // walls as measured; passed region_from
  std::vector<DoorPlace> doors;
  double rows_degrees = 0.0;  // direction of the rows, anticlockwise from x: along the main light
  bool begin_at_far_side = false;  // first row at the high end of y once turned
  PanelSize panel;
  LayoutRules rules;
  Metres wall_gap{0.010};
  Metres widest{7.0};             // across the rows: beyond it a joint
  std::optional<Metres> longest;  // along them; nullopt = no limit
  std::optional<RollSize> underlay;
  std::optional<RollSize> barrier;  // nullopt = none, or built into the underlay
  BarrierRules barrier_rules;
  Metres trim_bar{2.4};
};

struct FloorPart {
  Bounds field;  // in the turned plan
  RowLayout layout;
};
struct RoomPlan {
  Region room;   // turned so that the rows lie along x
  Region floor;  // within its gaps, turned likewise
  std::vector<FloorPart> parts;
  SquareMetres floor_area;  // of the room, as it is ordered by
  int panels = 0;
  Metres joints;  // length of the profiles between parts
  std::optional<SheetNeed> underlay;
  std::optional<SheetNeed> barrier;
  TrimNeed trim;
  std::vector<std::string> remarks;  // joints and why, exceptions of rows; one sentence each
};

// Errors, one clause: those of inset and row_layout_from; a door beyond its wall.
[[nodiscard]] base::Result<RoomPlan, std::string> room_plan_from(const RoomPlanRequest& request);

}  // namespace analysis::plan
