#include "analysis/plan/room_plan.hpp"

#include <algorithm>
#include <cmath>

#include "analysis/plan/layout/cut_list.hpp"
#include "analysis/plan/opening_faults.hpp"
#include "analysis/plan/room/length_text.hpp"

namespace analysis::plan {
namespace {

double turn_of(const RoomPlanRequest& request) {
  const double rows = request.rows_degrees.value_or(request.light_degrees.value_or(0.0));
  return (request.begin_at_far_side ? 180.0 : 0.0) - rows;
}

// Ends of the parts along one axis, each a gap away from the joint.
std::vector<std::pair<double, double>> parts_of(double low, double high,
                                                const std::vector<JointLine>& joints, double gap) {
  std::vector<std::pair<double, double>> parts;
  double from = low;
  for (const JointLine& joint : joints) {
    parts.emplace_back(from, joint.at_m - gap);
    from = joint.at_m + gap;
  }
  parts.emplace_back(from, high);
  return parts;
}

// The wall along the rows whose middle lies lowest, else the corner that does.
std::string first_row_text(const RoomPlanRequest& request, const Region& turned_room) {
  constexpr double kAlong = 0.05;  // of its length: how far a wall may rise
  const Outline& corners = turned_room.outer;
  const int walls = static_cast<int>(corners.size());
  int best_wall = 0;
  int lowest_corner = 1;
  double best = 0.0;
  double lowest = corners.front().y_m;
  for (int i = 1; i <= walls; ++i) {
    const auto [from, to] = wall_of(corners, static_cast<std::size_t>(i) - 1);
    const double middle = (from.y_m + to.y_m) / 2.0;
    if (std::abs(to.y_m - from.y_m) <= kAlong * std::abs(to.x_m - from.x_m) &&
        (best_wall == 0 || middle < best)) {
      best_wall = i;
      best = middle;
    }
    if (from.y_m < lowest - kSameLength) {
      lowest = from.y_m;
      lowest_corner = i;
    }
  }
  const Bounds all = bounds_of(corners);
  if (best_wall == 0 || best > all.low_y_m + request.panel.width.value()) {
    return "at corner " + std::to_string(given_corner(turned_room, lowest_corner));
  }
  const int wall = given_wall(turned_room, best_wall);
  return "along the wall from corner " + std::to_string(wall) + " to " +
         std::to_string(wall % walls + 1);
}

class RoomPlanner {
 public:
  explicit RoomPlanner(const RoomPlanRequest& request) : request_(request) {}

  base::Result<RoomPlan, std::string> plan() {
    plan_.turned_degrees = turn_of(request_);
    plan_.room = turned(request_.room, plan_.turned_degrees);
    auto floor = inset(plan_.room, request_.wall_gap);
    if (!floor) {
      return base::Failure{floor.error()};
    }
    plan_.floor = std::move(floor).value();
    plan_.floor_area = area_of(request_.room);
    plan_.first_row = first_row_text(request_, plan_.room);
    divide();
    if (auto fault = lay()) {
      return base::Failure{std::move(*fault)};
    }
    check_gaps();
    add_openings();
    if (auto fault = take_off()) {
      return base::Failure{std::move(*fault)};
    }
    return std::move(plan_);
  }

 private:
  void divide() {
    // A quarter turn takes x to y, and y to -x.
    const Region turned_room = turned(plan_.room, 90.0);
    const Region turned_floor = turned(plan_.floor, 90.0);
    const auto rows = joint_lines_from({plan_.room, plan_.floor}, request_.widest);
    const auto columns = joint_lines_from({turned_room, turned_floor}, request_.longest);
    add_joints(true, plan_.floor, rows);
    add_joints(false, turned_floor, columns);
    const Bounds all = bounds_of(plan_.floor.outer);
    say_joints(true, all.high_y_m - all.low_y_m, request_.widest);
    say_joints(false, all.high_x_m - all.low_x_m, request_.longest);
    const double gap = request_.wall_gap.value();
    for (const auto& [low_y, high_y] : parts_of(all.low_y_m, all.high_y_m, rows, gap)) {
      std::size_t column = 0;
      for (const auto& [low_x, high_x] : parts_of(all.low_x_m, all.high_x_m, columns, gap)) {
        if (const auto field = floor_within(plan_.floor, {low_x, high_x, low_y, high_y})) {
          plan_.parts.push_back({*field, {}, column});
        }
        ++column;
      }
    }
  }

  void add_joints(bool along_rows, const Region& floor, const std::vector<JointLine>& lines) {
    const double gap = request_.wall_gap.value();
    for (const JointLine& line : lines) {
      FloorJoint joint{along_rows, line.corner, {}};
      for (const Stretch& run : floor_on_line(floor, line.at_m)) {
        joint.strips.push_back(
            along_rows ? Bounds{run.low_x_m, run.high_x_m, line.at_m - gap, line.at_m + gap}
                       : Bounds{line.at_m - gap, line.at_m + gap, -run.high_x_m, -run.low_x_m});
        plan_.joints = Metres{plan_.joints.value() + run.high_x_m - run.low_x_m};
      }
      plan_.joint_lines.push_back(std::move(joint));
    }
  }

  void say_joints(bool across, double size, std::optional<Metres> limit) {
    int joints = 0;
    std::string corners;
    for (const FloorJoint& joint : plan_.joint_lines) {
      if (joint.along_rows == across) {
        ++joints;
        corners += joint.corner == 0 ? ""
                                     : (corners.empty() ? " at corner " : " and ") +
                                           std::to_string(given_corner(plan_.room, joint.corner));
      }
    }
    if (joints == 0) {
      return;
    }
    plan_.remarks.push_back(remark_from([&](bool imperial) {
      return "the floor is " + length_text_from(Metres{size}, imperial) +
             (across ? " across" : " along") + " the rows, more than " +
             length_text_from(*limit, imperial) + ": " + std::to_string(joints) +
             (joints == 1 ? " joint with a profile" : " joints with profiles") + corners +
             (corners.empty() ? "" : ", where the outline steps") +
             ", since it would swell and shrink as one piece";
    }));
    if (const auto whole =
            gap_check_from(Metres{size}, across, request_.wall_gap, request_.climate)) {
      Remark why = remark_of(whole.value(), request_.climate);
      plan_.remarks.push_back({"without it: " + why.metric, "without it: " + why.imperial});
    }
  }

  std::optional<std::string> lay() {
    for (FloorPart& part : plan_.parts) {
      auto rows = row_layout_from(
          {plan_.floor, part.field, request_.panel, request_.rules, request_.effort});
      if (!rows) {
        return rows.error();
      }
      part.layout = std::move(rows).value();
      plan_.panels += part.layout.panels;
      plan_.least_panels += part.layout.least_panels;
      say_rows(part);
    }
    return std::nullopt;
  }

  void say_rows(const FloorPart& part) {
    const auto index = static_cast<std::size_t>(&part - plan_.parts.data());
    const std::string where =
        plan_.parts.size() == 1 ? "" : "part " + part_name(plan_, index) + ", ";
    const RowLayout& layout = part.layout;
    if (layout.saved_by_widths > 0) {
      plan_.remarks.push_back(remark_from([&](bool imperial) {
        const auto width = [&](const Row& row) {
          return sawn_text_from(Metres{row.high_y_m - row.low_y_m}, imperial);
        };
        return where + "the first row is " + width(layout.rows.front()) + " and the last one " +
               width(layout.rows.back()) +
               " wide, not alike, so that a row ends where a wall begins: " +
               std::to_string(layout.saved_by_widths) +
               (layout.saved_by_widths == 1 ? " panel less" : " panels less");
      }));
    }
    say_worked_pieces(where, layout);
    for (const RuleBreak& broken : layout.breaks) {
      plan_.remarks.push_back(
          remark_from([&](bool imperial) { return where + text_from(broken, imperial); }));
    }
  }

  // Slanted cuts are many, and plain to see.
  void say_worked_pieces(const std::string& where, const RowLayout& layout) {
    std::string rows;
    for (const CutRow& row : cut_list_from(layout, {plan_.floor, request_.panel, request_.rules})) {
      const bool worked = std::any_of(row.runs.begin(), row.runs.end(), [](const auto& run) {
        return std::any_of(run.begin(), run.end(), [](const CutPiece& piece) {
          return piece.shape.is_ripped() || !piece.shape.notches.empty();
        });
      });
      rows += worked ? (rows.empty() ? "" : ", ") + std::to_string(row.row) : "";
    }
    if (!rows.empty()) {
      const std::string words = where + (rows.find(',') == std::string::npos ? "row " : "rows ") +
                                rows +
                                ": a wall lies inside the row; the cut list says which pieces are "
                                "ripped or notched";
      plan_.remarks.push_back({words, words});
    }
  }

  // What the parts need as they are: their longest lines across the rows and along them.
  void check_gaps() {
    const Region turned_floor = turned(plan_.floor, 90.0);
    for (const bool across : {true, false}) {
      Metres run;
      for (const FloorPart& part : plan_.parts) {
        run = std::max(run, across ? longest_run_in(turned_floor, quarter_turned(part.field))
                                   : longest_run_in(plan_.floor, part.field));
      }
      const auto check = gap_check_from(run, across, request_.wall_gap, request_.climate);
      if (!check) {
        continue;  // a run or climate outside of what the formula is for: nothing is said
      }
      plan_.gaps.push_back(check.value());
      if (!check.value().at_limit.fits) {
        plan_.remarks.push_back(remark_of(check.value(), request_.climate));
      }
    }
  }

  void add_openings() {
    for (const PipePlace& pipe : request_.pipes) {
      PipePlace moved = pipe;
      moved.centre = turned(pipe.centre, plan_.turned_degrees);
      const auto part =
          std::find_if(plan_.parts.begin(), plan_.parts.end(), [&](const FloorPart& each) {
            return moved.centre.y_m >= each.field.low_y_m &&
                   moved.centre.y_m < each.field.high_y_m &&
                   moved.centre.x_m >= each.field.low_x_m && moved.centre.x_m < each.field.high_x_m;
          });
      plan_.pipes.push_back(hole_from(moved, part == plan_.parts.end() ? RowLayout{} : part->layout,
                                      request_.wall_gap));
      plan_.remarks.push_back(remark_of(plan_.pipes.back()));
    }
    say_doors();
  }

  void say_doors() {
    std::string walls;
    for (const DoorPlace& door : request_.doors) {
      const std::string wall = std::to_string(given_wall(request_.room, door.wall));
      walls += (walls.empty() ? "" : ", ") + wall;
      if (door.joint || !door.adjoins.empty()) {
        const std::string why = door.adjoins.empty()
                                    ? " is asked for"
                                    : ", since the floor of " + door.adjoins + " adjoins";
        plan_.remarks.push_back(remark_from([&](bool imperial) {
          return "the door in wall " + wall + ": a joint with a profile in the doorway" + why +
                 "; a gap of " + gap_text_from(request_.wall_gap, imperial) + " at each side of it";
        }));
      }
    }
    if (!walls.empty()) {
      plan_.remarks.push_back(remark_from([&](bool imperial) {
        return (request_.doors.size() == 1 ? "door in wall " : "doors in walls ") + walls +
               ": undercut the frames; the floor runs under them and keeps its gap of " +
               gap_text_from(request_.wall_gap, imperial) + " to the wall behind";
      }));
    }
  }

  std::optional<std::string> take_off() {
    if (request_.underlay) {
      plan_.underlay = underlay_need_from(plan_.room, *request_.underlay);
    }
    if (request_.barrier) {
      auto barrier = barrier_need_from(plan_.room, *request_.barrier, request_.barrier_rules);
      if (!barrier) {
        return barrier.error();
      }
      plan_.barrier = std::move(barrier).value();
    }
    std::vector<Door> doors;
    for (const DoorPlace& place : request_.doors) {
      doors.push_back(place.door);
    }
    plan_.trim = trim_need_from(plan_.room, doors, request_.trim_bar);
    return std::nullopt;
  }

  const RoomPlanRequest& request_;
  RoomPlan plan_;
};

}  // namespace

std::string part_name(const RoomPlan& plan, std::size_t part) {
  return plan.parts.size() < 2 ? "" : std::string(1, static_cast<char>('A' + part % 26));
}

std::optional<std::string> room_plan_fault(const RoomPlanRequest& request) {
  if (auto fault = opening_fault(request)) {
    return std::move(fault->text);
  }
  const auto floor = inset(turned(request.room, turn_of(request)), request.wall_gap);
  if (!floor) {
    return floor.error();
  }
  return layout_fault({floor.value(), bounds_of(floor.value().outer), request.panel, request.rules,
                       request.effort});
}

base::Result<RoomPlan, std::string> room_plan_from(const RoomPlanRequest& request) {
  if (auto fault = room_plan_fault(request)) {
    return base::Failure{std::move(*fault)};
  }
  return RoomPlanner(request).plan();
}

}  // namespace analysis::plan
