#include "analysis/plan/room_plan.hpp"

#include <cmath>

#include "analysis/plan/room/length_text.hpp"

namespace analysis::plan {
namespace {

std::optional<std::string> door_fault(const RoomPlanRequest& request) {
  const Outline& walls = request.room.outer;
  for (const DoorPlace& place : request.doors) {
    const std::string name = "the door in wall " + std::to_string(place.wall);
    if (place.wall < 1 || static_cast<std::size_t>(place.wall) > walls.size()) {
      return name + ": the room has walls 1 to " + std::to_string(walls.size());
    }
    const PlanPoint from = walls[static_cast<std::size_t>(place.wall) - 1];
    const PlanPoint to = walls[static_cast<std::size_t>(place.wall) % walls.size()];
    const double wall = std::hypot(to.x_m - from.x_m, to.y_m - from.y_m);
    if (place.from_corner.value() + place.door.width.value() > wall + 1e-6) {
      return name + " ends " +
             metric_text_from(Metres{place.from_corner.value() + place.door.width.value() - wall}) +
             " beyond it";
    }
  }
  return std::nullopt;
}

// Where joints lie between `low` and `high` so that no part is longer than `most`.
std::vector<double> joints_between(double low, double high, std::optional<Metres> most) {
  std::vector<double> joints;
  if (!most || high - low <= most->value() + 1e-6) {
    return joints;
  }
  const int parts = static_cast<int>(std::ceil((high - low) / most->value() - 1e-6));
  for (int i = 1; i < parts; ++i) {
    joints.push_back(low + (high - low) * i / parts);
  }
  return joints;
}

std::string joint_text(const char* direction, double size, double limit, std::size_t joints) {
  return "the floor is " + metric_text_from(Metres{size}) + " " + direction +
         " the rows, more than " + metric_text_from(Metres{limit}) + ": " + std::to_string(joints) +
         (joints == 1 ? " joint with a profile" : " joints with profiles") +
         ", since it would swell and shrink as one piece";
}

// Ends of the parts along one axis, each a gap away from the joint.
std::vector<std::pair<double, double>> parts_of(double low, double high,
                                                const std::vector<double>& joints, double gap) {
  std::vector<std::pair<double, double>> parts;
  double from = low;
  for (const double joint : joints) {
    parts.emplace_back(from, joint - gap);
    from = joint + gap;
  }
  parts.emplace_back(from, high);
  return parts;
}

}  // namespace

base::Result<RoomPlan, std::string> room_plan_from(const RoomPlanRequest& request) {
  if (auto fault = door_fault(request)) {
    return base::Failure{std::move(*fault)};
  }
  RoomPlan plan;
  plan.room =
      turned(request.room, (request.begin_at_far_side ? 180.0 : 0.0) - request.rows_degrees);
  auto floor = inset(plan.room, request.wall_gap);
  if (!floor) {
    return base::Failure{floor.error()};
  }
  plan.floor = std::move(floor).value();
  plan.floor_area = area_of(request.room);
  const Bounds all = bounds_of(plan.floor.outer);
  const auto across = joints_between(all.low_y_m, all.high_y_m, request.widest);
  const auto along = joints_between(all.low_x_m, all.high_x_m, request.longest);
  if (!across.empty()) {
    plan.remarks.push_back(
        joint_text("across", all.high_y_m - all.low_y_m, request.widest.value(), across.size()));
  }
  if (!along.empty()) {
    plan.remarks.push_back(
        joint_text("along", all.high_x_m - all.low_x_m, request.longest->value(), along.size()));
  }
  double joints = 0.0;
  for (const double y : across) {
    for (const Stretch& run : stretches_between(plan.floor, y - 1e-3, y + 1e-3, all)) {
      joints += run.high_x_m - run.low_x_m;
    }
  }
  const Region upright = turned(plan.floor, 90.0);
  const Bounds upright_all = bounds_of(upright.outer);
  for (const double x : along) {
    for (const Stretch& run : stretches_between(upright, x - 1e-3, x + 1e-3, upright_all)) {
      joints += run.high_x_m - run.low_x_m;
    }
  }
  plan.joints = Metres{joints};
  const double gap = request.wall_gap.value();
  for (const auto& [low_y, high_y] : parts_of(all.low_y_m, all.high_y_m, across, gap)) {
    for (const auto& [low_x, high_x] : parts_of(all.low_x_m, all.high_x_m, along, gap)) {
      FloorPart part{{low_x, high_x, low_y, high_y}, {}};
      auto rows = row_layout_from({plan.floor, part.field, request.panel, request.rules});
      if (!rows) {
        return base::Failure{rows.error()};
      }
      part.layout = std::move(rows).value();
      for (const std::string& exception : part.layout.exceptions) {
        plan.remarks.push_back(exception);
      }
      plan.panels += part.layout.panels;
      plan.parts.push_back(std::move(part));
    }
  }
  if (request.underlay) {
    plan.underlay = underlay_need_from(plan.room, *request.underlay);
  }
  if (request.barrier) {
    auto barrier = barrier_need_from(plan.room, *request.barrier, request.barrier_rules);
    if (!barrier) {
      return base::Failure{barrier.error()};
    }
    plan.barrier = std::move(barrier).value();
  }
  std::vector<Door> doors;
  for (const DoorPlace& place : request.doors) {
    doors.push_back(place.door);
  }
  plan.trim = trim_need_from(plan.room, doors, request.trim_bar);
  return plan;
}

}  // namespace analysis::plan
