#include "logger/app/handover/moving_floor.hpp"

#include <algorithm>
#include <cmath>

#include "logger/app/room/floor_run.hpp"

namespace logger::app {

using analysis::base::Metres;
using analysis::base::RelativeHumidity;
using analysis::plan::RoomPlan;
using analysis::readiness::LaidFloor;

namespace {

constexpr double kParallel = 0.05;  // share of a wall's length that a run along it may gain
constexpr double kSameCoefficient = 1e-9;

std::string wall_name(std::size_t from, std::size_t count) {
  return std::to_string(from) + "-" + std::to_string(from % count + 1);
}

// Walls that a run along `across ? y : x` of the turned room can end at, by their given names.
std::vector<std::string> walls_at_ends(const RoomPlan& plan, bool across) {
  const auto& corners = plan.room.outer;
  std::vector<std::string> walls;
  for (std::size_t i = 0; i < corners.size(); ++i) {
    const auto& from = corners[i];
    const auto& to = corners[(i + 1) % corners.size()];
    const double x = std::abs(to.x_m - from.x_m);
    const double y = std::abs(to.y_m - from.y_m);
    if ((across ? x : y) > kParallel * std::hypot(x, y)) {
      const int wall = analysis::plan::given_wall(plan.room, static_cast<int>(i) + 1);
      walls.push_back(wall_name(static_cast<std::size_t>(wall), corners.size()));
    }
  }
  return walls;
}

std::vector<std::string> all_walls(const JobRoom& room) {
  std::vector<std::string> walls;
  const std::size_t count = room.plan ? room.plan->request.room.outer.size() : 0;
  for (std::size_t i = 1; i <= count; ++i) {
    walls.push_back(wall_name(i, count));
  }
  return walls;
}

std::string named_walls(const std::vector<std::string>& walls) {
  std::string text;
  for (const std::string& wall : walls) {
    text += (text.empty() ? " at walls " : ", ") + wall;
  }
  return text + ", where this run ends";
}

struct PlannedGap {
  Metres gap;
  std::string source;  // whose it is
};

void set_gap(MovingFloor& moving, const JobRoom& room, const LaidFloor& laid,
             const PlannedGap& planned_gap, const std::vector<std::string>& walls) {
  const auto& [planned, planned_source] = planned_gap;
  const auto left = gap_left_from(laid, planned, walls);
  moving.floor.gap = left ? left->gap : planned;
  const bool noted = left && left->noted;
  const std::string where =
      walls.size() < all_walls(room).size() ? named_walls(walls) : std::string();
  moving.gap_source =
      noted ? laid.gaps.size() == 1 ? "as noted" : "as noted, the narrowest" + where
            : planned_source + (laid.gaps.empty() ? "" : ", for walls whose gap nobody noted");
}

MovingFloor moving_by_plan(const JobRoom& room, const RoomPlan& plan, const LaidFloor& laid,
                           bool across) {
  MovingFloor moving;
  for (const analysis::plan::FloorPart& part : plan.parts) {
    const auto& field = part.field;
    const Metres length{across ? field.high_y_m - field.low_y_m : field.high_x_m - field.low_x_m};
    moving.floor.run.width = std::max(moving.floor.run.width, length);
  }
  const auto& request = room.plan->request;
  moving.floor.panel = across ? request.panel.width : request.panel.length;
  moving.opening_joints = across ? "long joint" : "end joint";
  moving.run_source = across ? "across its rows, by the plan" : "along its rows, by the plan";
  set_gap(moving, room, laid, {request.wall_gap, "by the plan"}, walls_at_ends(plan, across));
  return moving;
}

double gap_for_length(const MovingFloor& moving) {
  return moving.floor.gap->value() / moving.floor.run.width.value();
}

MovingFloor moving_by_job(const JobRoom& room, const LaidFloor& laid) {
  const JobMovement& planned = *room.movement;
  MovingFloor moving;
  moving.floor.run = floor_run_from(planned);
  moving.floor.panel = room.plan ? std::optional(room.plan->request.panel.width) : std::nullopt;
  moving.opening_joints = "long joint";
  moving.run_source = "as the job states";
  set_gap(moving, room, laid, {planned.gap, "as the job states"}, all_walls(room));
  return moving;
}

}  // namespace

std::optional<MovingFloor> moving_floor_from(const JobRoom& room, const RoomPlan* plan,
                                             const LaidFloor& laid) {
  std::optional<MovingFloor> moving;
  if (room.movement) {
    moving = moving_by_job(room, laid);
  } else if (plan != nullptr && room.plan) {
    MovingFloor across = moving_by_plan(room, *plan, laid, true);
    MovingFloor along = moving_by_plan(room, *plan, laid, false);
    moving = gap_for_length(along) < gap_for_length(across) ? std::move(along) : std::move(across);
  }
  if (moving) {
    const double coefficient = moving->floor.run.coefficient.value();
    const bool published =
        std::abs(coefficient - analysis::physics::kPublishedMovementLimit.value()) <
        kSameCoefficient;
    moving->growth_source =
        published ? "the published limit for boards" : "the figure given for this floor";
    moving->floor.at_laying =
        RelativeHumidity{(room.service.rh_low.value() + room.service.rh_high.value()) / 2.0};
  }
  return moving;
}

}  // namespace logger::app
