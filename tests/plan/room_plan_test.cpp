// A room as a whole: joints and why, gaps, pipes, doors, where the first row lies.
#include "analysis/plan/room_plan.hpp"

#include <algorithm>

#include "analysis/plan/room/length_text.hpp"
#include "tests/plan/plan_rooms.hpp"

using namespace analysis::plan;
using analysis::base::MovementCoefficient;
using analysis::base::RelativeHumidity;
using plan_tests::rectangle;

namespace {

RoomPlanRequest request_for(Outline outer) {
  RoomPlanRequest request = plan_tests::request_for(std::move(outer));
  request.panel = {Metres{1.29}, Metres{0.19}};
  request.effort = LayoutEffort::quick;
  return request;
}

bool says(const RoomPlan& plan, const std::string& text) {
  return std::any_of(plan.remarks.begin(), plan.remarks.end(), [&](const Remark& remark) {
    return remark.metric.find(text) != std::string::npos;
  });
}

ServiceClimate climate(double laid, double lowest, double highest) {
  return {{RelativeHumidity{laid}, RelativeHumidity{lowest}, RelativeHumidity{highest}},
          MovementCoefficient{0.010},
          analysis::physics::FloorHold::free_both_sides,
          false};
}

}  // namespace

TEST_CASE("The gap that a run needs against the gap that is left") {
  // 7 m x 0.010 x (0.80 - 0.50) / 2 = 10.5 mm; 10 mm are enough for 2 x 0.010 / (0.010 x 0.30) =
  // 6.667 m. With the typical 0.005: 5.25 mm.
  const auto wide =
      gap_check_from(Metres{7.0}, true, Metres{0.010}, climate(0.5, 0.5, 0.8)).value();
  CHECK(wide.at_limit.movement.gap_each_side.value() == Approx(0.0105));
  CHECK(wide.at_typical.movement.gap_each_side.value() == Approx(0.00525));
  CHECK_FALSE(wide.at_limit.fits);
  CHECK(wide.at_typical.fits);
  CHECK(wide.at_limit.widest_run->value() == Approx(6.6667).margin(1e-4));
  CHECK(
      remark_of(wide, climate(0.5, 0.5, 0.8)).metric ==
      "7.00 m across the rows: each side needs 10.5 mm with the limit for such boards, 5.3 mm with "
      "a typical one, 10.0 mm are left: short by up to 0.5 mm; that gap is enough for 6.667 m "
      "(panels of 50 %RH in 50 to 80 %RH)");
  // Acclimated at 45, service up to 65 %RH: 6.5 m x 0.010 x 0.20 / 2 = 6.5 mm.
  const auto mild =
      gap_check_from(Metres{6.5}, true, Metres{0.010}, climate(0.45, 0.45, 0.65)).value();
  CHECK(mild.at_limit.movement.gap_each_side.value() == Approx(0.0065));
  CHECK(mild.at_limit.fits);
  // 2 x gap / (0.010 x 0.30): 8 mm 5.33 m, 12 mm 8.0 m.
  for (const auto& [gap, run] : {std::pair{0.008, 5.3333}, {0.012, 8.0}}) {
    const auto check =
        gap_check_from(Metres{9.0}, true, Metres{gap}, climate(0.5, 0.5, 0.8)).value();
    CHECK(check.at_limit.widest_run->value() == Approx(run).margin(1e-3));
  }
}

TEST_CASE("A floor too wide gets a joint, and the movement says why") {
  RoomPlanRequest request = request_for(rectangle(5.0, 8.02));
  request.climate = climate(0.5, 0.5, 0.8);
  const auto plan = room_plan_from(request).value();
  CHECK(plan.parts.size() == 2);
  CHECK(plan.joints.value() == Approx(4.98));
  CHECK(says(plan, "the floor is 8.00 m across the rows, more than 7.00 m: 1 joint"));
  // 8 m x 0.010 x 0.30 / 2 = 12 mm.
  CHECK(says(plan, "without it: 8.00 m across the rows: each side needs 12.0 mm"));
  // Two parts of (8.00 - 2 x 0.01) / 2 = 3.99 m need 5.985 mm: enough.
  REQUIRE(plan.gaps.size() == 2);
  CHECK(plan.gaps[0].run.value() == Approx(3.99));
  CHECK(plan.gaps[0].at_limit.fits);
}

TEST_CASE(
    "A joint begins at the inner corner of an L where that keeps the parts within the limit") {
  // 7.9 m across the rows, limit 7 m. At the step, y = 4.2 m, the profile takes 4.6 m less a gap at
  // each side; halfway up it would take 8.38 m beside the inner wall.
  RoomPlanRequest request =
      request_for({{0, 0}, {8.4, 0}, {8.4, 4.2}, {4.6, 4.2}, {4.6, 7.9}, {0, 7.9}});
  const auto plan = room_plan_from(request).value();
  REQUIRE(plan.joint_lines.size() == 1);
  CHECK(plan.joint_lines[0].corner == 4);
  CHECK(plan.joints.value() == Approx(4.58));
  REQUIRE(plan.joint_lines[0].strips.size() == 1);
  CHECK(plan.joint_lines[0].strips[0].low_y_m == Approx(4.19));
  CHECK(plan.joint_lines[0].strips[0].high_y_m == Approx(4.21));
  REQUIRE(plan.parts.size() == 2);
  CHECK(plan.parts[0].field.high_y_m == Approx(4.19));
  CHECK(plan.parts[1].field.low_y_m == Approx(4.21));
  CHECK(plan.parts[1].field.high_x_m == Approx(4.59));  // of its own floor, not of the whole
  CHECK(says(plan, "1 joint with a profile at corner 4, where the outline steps"));
  // Numbered the other way round: corner 4 stays 4 of 6, since 6 - 4 + 2 = 4.
  std::reverse(request.room.outer.begin() + 1, request.room.outer.end());
  request.room = region_from({request.room.outer, {}}).value();
  CHECK(says(room_plan_from(request).value(), "profile at corner 4,"));
  // Where the light lies along Y, 8.4 m are across the rows: at x = 4.6 m, 4.2 m long.
  request.rows_degrees = 90.0;
  const auto turned = room_plan_from(request).value();
  REQUIRE(turned.joint_lines.size() == 1);
  CHECK(turned.joints.value() == Approx(4.18));
  // Both ways: three parts with floor, the fourth corner of the grid has none.
  request.rows_degrees = 0.0;
  request.longest = Metres{8.0};
  const auto both = room_plan_from(request).value();
  CHECK(both.parts.size() == 3);
  CHECK(both.joints.value() == Approx(4.58 + 4.18));
  CHECK(both.parts[2].column == 0);
}

TEST_CASE("Joints of T and U, and of an L whose corner is no help") {
  // T: bar 9 m x 3 m on a stem of 3 m x 5 m; 8 m across. Corners at y = 5: 2.98 m of profile.
  const auto tee =
      room_plan_from(request_for({{3, 0}, {6, 0}, {6, 5}, {9, 5}, {9, 8}, {0, 8}, {0, 5}, {3, 5}}));
  REQUIRE(tee);
  REQUIRE(tee.value().joint_lines.size() == 1);
  CHECK(tee.value().joints.value() == Approx(2.98));
  CHECK(tee.value().parts[0].field.high_y_m == Approx(4.99));
  // U: two legs 2 m wide, 5 m up from a base of 7 m x 3 m. Two profiles of 1.98 m, one line.
  const auto u =
      room_plan_from(request_for({{0, 0}, {7, 0}, {7, 8}, {5, 8}, {5, 3}, {2, 3}, {2, 8}, {0, 8}}));
  REQUIRE(u);
  REQUIRE(u.value().joint_lines.size() == 1);
  CHECK(u.value().joint_lines[0].strips.size() == 2);
  CHECK(u.value().joints.value() == Approx(3.96));
  // An L stepping 0.5 m below its end: 7.5 m would be left below, more than 7, so equal parts.
  const auto high =
      room_plan_from(request_for({{0, 0}, {6, 0}, {6, 7.5}, {3, 7.5}, {3, 8}, {0, 8}}));
  REQUIRE(high);
  REQUIRE(high.value().joint_lines.size() == 1);
  CHECK(high.value().joint_lines[0].corner == 0);
  CHECK(high.value().joints.value() == Approx(5.98));
  // 16 m, limit 7: 3 parts. The corner at 4 m and (16 - 4) / 2 = 6 m beyond it.
  const auto line = room_plan_from(request_for({{0, 0}, {6, 0}, {6, 4}, {3, 4}, {3, 16}, {0, 16}}));
  REQUIRE(line);
  REQUIRE(line.value().joint_lines.size() == 2);
  CHECK(line.value().joint_lines[0].corner == 4);
  CHECK(line.value().parts[1].field.high_y_m == Approx((4.0 + 15.99) / 2.0 - 0.01));
}

TEST_CASE("A gap can be short below the width that asks for a joint") {
  RoomPlanRequest request = request_for(rectangle(4.0, 6.82));
  request.climate = climate(0.5, 0.5, 0.8);
  const auto plan = room_plan_from(request).value();
  CHECK(plan.parts.size() == 1);
  // 6.8 m x 0.010 x 0.30 / 2 = 10.2 mm, 10 mm are left.
  CHECK(says(plan, "6.80 m across the rows: each side needs 10.2 mm"));
  CHECK(says(plan, "short by up to 0.2 mm"));
  request.wall_gap = Metres{0.012};
  CHECK_FALSE(says(room_plan_from(request).value(), "short by"));
}

TEST_CASE("The first row is named by the wall it lies along") {
  CHECK(room_plan_from(request_for(rectangle(4, 3))).value().first_row ==
        "along the wall from corner 1 to 2");
  RoomPlanRequest request = request_for(rectangle(4, 3));
  request.begin_at_far_side = true;
  CHECK(room_plan_from(request).value().first_row == "along the wall from corner 3 to 4");
  // Light from the end of the room: rows along Y, the first one on the right.
  request = request_for(rectangle(4, 3));
  request.light_degrees = 90.0;
  const auto lit = room_plan_from(request).value();
  CHECK(lit.first_row == "along the wall from corner 2 to 3");
  CHECK(lit.parts[0].layout.rows.size() == 21);  // 3.98 m / 0.19 m = 20.9
  request.rows_degrees = 0.0;
  CHECK(room_plan_from(request).value().first_row == "along the wall from corner 1 to 2");
  // The same room numbered the other way round: its lower wall joins corners 1 and 4.
  const Outline clockwise{{0, 0}, {0, 3}, {4, 3}, {4, 0}};
  CHECK(room_plan_from(request_for(clockwise)).value().first_row ==
        "along the wall from corner 4 to 1");
  // A room that stands on its corner.
  CHECK(room_plan_from(request_for({{0, 0}, {3, 3}, {0, 6}, {-3, 3}})).value().first_row ==
        "at corner 1");
}

TEST_CASE("Doors and joints in them are named by the walls as they were numbered") {
  // Corner 1 stays the first: the region's walls 1..4 were given as 4..1.
  const Outline clockwise{{0, 0}, {0, 3}, {4, 3}, {4, 0}};
  RoomPlanRequest request = request_for(clockwise);
  REQUIRE(request.room.is_reversed);
  CHECK(given_corner(request.room, 1) == 1);
  CHECK(given_corner(request.room, 2) == 4);
  // The region's wall 3, from (4; 3) to (0; 3), was given as wall 2.
  request.doors = {{3, Metres{3.0}, {Metres{0.9}, Transition::same_level}, true, ""}};
  const auto plan = room_plan_from(request);
  REQUIRE(plan);
  CHECK(
      says(plan.value(), "the door in wall 2: a joint with a profile in the doorway is asked for"));
  CHECK(says(plan.value(), "door in wall 2: undercut the frames"));
  request.doors[0].adjoins = "hall";
  CHECK(says(room_plan_from(request).value(), "since the floor of hall adjoins"));
  request.doors[0].wall = 4;  // 3 m long, given as wall 1
  CHECK(room_plan_from(request).error() == "the door in wall 1 ends 0.90 m beyond it");
}

TEST_CASE("Rows with a wall inside them are named, what to cut stands in the cut list") {
  // Rows of 0.38 m over 3.98 m: 10 whole ones leave 0.18 m, so 0.28 m first and last. The wall at
  // 1.99 m lies 1.98 m above the first edge: 0.28 + 4 x 0.38 = 1.80, so inside row 6.
  RoomPlanRequest request = request_for({{0, 0}, {5, 0}, {5, 2}, {3, 2}, {3, 4}, {0, 4}});
  request.panel.width = Metres{0.38};
  const auto plan = room_plan_from(request).value();
  REQUIRE(plan.parts[0].layout.saved_by_widths == 0);
  CHECK(says(plan, "row 6: a wall lies inside the row; the cut list says"));
  CHECK(plan.least_panels == plan.parts[0].layout.least_panels);
}

TEST_CASE("The gap is checked for the longest line of floor, not for the floor's extent") {
  // 5 m x 4 m with rows at 30 degrees: 4.98 x 3.98 m of floor. The extent along the rows is
  // 4.98 cos 30 + 3.98 sin 30 = 6.30 m; the longest line is 4.98 / cos 30 = 5.75 m. Across:
  // 3.98 / cos 30 = 4.60 m, not 5.94 m.
  RoomPlanRequest request = request_for(rectangle(5.0, 4.0));
  request.rows_degrees = 30.0;
  const auto plan = room_plan_from(request).value();
  REQUIRE(plan.gaps.size() == 2);
  CHECK(plan.gaps[0].across_rows);
  CHECK(plan.gaps[0].run.value() == Approx(4.596).margin(0.01));
  CHECK(plan.gaps[1].run.value() == Approx(5.751).margin(0.01));
}

TEST_CASE("A gap as it is left is never shown narrower than it is") {
  CHECK(lengths_held_in("lapped 1' 5 11/16\", 2 rows 3 1/2\" of 9 at 5' 4") ==
        "lapped 1'\u00a05\u00a011/16\", 2 rows 3\u00a01/2\" of 9 at 5'\u00a04");
  CHECK(gap_text_from(Metres{0.010}, false) == "10 mm");
  CHECK(gap_text_from(Metres{0.0095}, false) == "9.5 mm");
  // 10 mm are 6.3 sixteenths: 7/16 in; 3/8 in stays.
  CHECK(gap_text_from(Metres{0.010}, true) == imperial_text_from(Metres{7 * 0.0254 / 16}));
  CHECK(gap_text_from(Metres{0.375 * 0.0254}, true) == imperial_text_from(Metres{0.375 * 0.0254}));
}

TEST_CASE("Two doors in one place and a pipe that reaches into a wall are refused") {
  RoomPlanRequest request = request_for(rectangle(4.0, 3.0));
  const Door door{Metres{0.9}, Transition::same_level};
  request.doors = {{1, Metres{1.0}, door, false, ""}, {1, Metres{1.5}, door, false, ""}};
  CHECK(room_plan_from(request).error() ==
        "the door in wall 1 lies over another one there, 0.40 m of it");
  request.doors[1].from_corner = Metres{1.9};
  CHECK(room_plan_from(request));
  request.pipes = {{"duct", {2.0, 1.5}, Metres{5.0}}};
  CHECK(room_plan_from(request).error() ==
        "duct at 2.00 m; 1.50 m, 5.00 m wide, reaches into a wall");
}

TEST_CASE("Pipes get holes of their diameter and two gaps") {
  RoomPlanRequest request = request_for(rectangle(4.0, 3.02));
  request.pipes = {{"radiator", {1.5, 0.5}, Metres{0.022}}};
  const auto plan = room_plan_from(request).value();
  REQUIRE(plan.pipes.size() == 1);
  const PipeHole& hole = plan.pipes[0];
  CHECK(hole.diameter.value() == Approx(0.042));  // 22 + 2 x 10 mm
  // 3.00 m = 15 x 0.19 + 0.15: first row (0.19 + 0.15) / 2 = 0.17 m, from 0.01 to 0.18; the second
  // to 0.37; 0.5 m lies in the third, 0.13 m from its edge.
  CHECK(hole.row == 3);
  CHECK(hole.from_edge.value() == Approx(0.13));
  const auto& pieces = plan.parts[0].layout.rows[2].runs[0];
  const auto piece = std::find_if(pieces.begin(), pieces.end(),
                                  [](const Piece& each) { return each.high_x_m > 1.5; });
  CHECK(hole.panel == piece->panel);
  CHECK(hole.from_end.value() == Approx(1.5 - piece->low_x_m));
  CHECK(says(plan, "radiator: a hole of 4.2 cm"));
  request.pipes[0].centre = {5.0, 0.5};
  CHECK(room_plan_from(request).error() ==
        "radiator at 5.00 m; 0.50 m does not lie inside the room");
}
