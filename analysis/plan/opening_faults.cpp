#include "analysis/plan/opening_faults.hpp"

#include <algorithm>

#include "analysis/plan/room/length_text.hpp"
#include "analysis/plan/room/wall_stretch.hpp"

namespace analysis::plan {
namespace {

double begin_of(const DoorPlace& place) { return place.from_corner.value(); }
double end_of(const DoorPlace& place) { return begin_of(place) + place.door.width.value(); }

std::optional<OpeningFault> door_fault(const RoomPlanRequest& request, std::size_t index) {
  const DoorPlace& place = request.doors[index];
  const auto fault = [&](std::string_view key, const std::string& text) {
    return OpeningFault{
        "doors", index, key,
        "the door in wall " + std::to_string(given_wall(request.room, place.wall)) + text};
  };
  const auto walls = static_cast<int>(request.room.outer.size());
  if (place.wall < 1 || place.wall > walls) {
    return fault("wall", ": the room has walls 1 to " + std::to_string(walls));
  }
  const Wall wall = wall_of(request.room.outer, static_cast<std::size_t>(place.wall) - 1);
  const double beyond = end_of(place) - wall.length_m();
  if (beyond > kSameLength) {
    return fault("width", " ends " + metric_text_from(Metres{beyond}) + " beyond it");
  }
  for (std::size_t other = 0; other < index; ++other) {
    const DoorPlace& before = request.doors[other];
    const double shared =
        std::min(end_of(place), end_of(before)) - std::max(begin_of(place), begin_of(before));
    if (before.wall == place.wall && shared > kSameLength) {
      return fault("from_corner",
                   " lies over another one there, " + metric_text_from(Metres{shared}) + " of it");
    }
  }
  return std::nullopt;
}

std::optional<OpeningFault> pipe_fault(const RoomPlanRequest& request, std::size_t index) {
  const PipePlace& pipe = request.pipes[index];
  const auto fault = [&](const std::string& text) {
    return OpeningFault{"pipes", index, "at",
                        pipe.name + " at " + metric_text_from(Metres{pipe.centre.x_m}) + "; " +
                            metric_text_from(Metres{pipe.centre.y_m}) + text};
  };
  if (!contains(request.room, pipe.centre)) {
    return fault(" does not lie inside the room");
  }
  const double radius = pipe.diameter.value() / 2.0;
  const auto cuts = [&](const Outline& outline) {
    return distance_from_outline(outline, pipe.centre).value() < radius - kSameLength;
  };
  const std::string wide = ", " + metric_text_from(pipe.diameter) + " wide, ";
  if (cuts(request.room.outer)) {
    return fault(wide + "reaches into a wall");
  }
  if (std::any_of(request.room.holes.begin(), request.room.holes.end(), cuts)) {
    return fault(wide + "reaches into a fixed item");
  }
  for (std::size_t other = 0; other < index; ++other) {
    const PipePlace& before = request.pipes[other];
    const double apart = distance_m(pipe.centre, before.centre);
    if (apart < radius + before.diameter.value() / 2.0 - kSameLength) {
      return fault(" lies over " + before.name);
    }
  }
  return std::nullopt;
}

}  // namespace

std::optional<OpeningFault> opening_fault(const RoomPlanRequest& request) {
  std::optional<OpeningFault> fault;
  for (std::size_t i = 0; i < request.doors.size() && !fault; ++i) {
    fault = door_fault(request, i);
  }
  for (std::size_t i = 0; i < request.pipes.size() && !fault; ++i) {
    fault = pipe_fault(request, i);
  }
  return fault;
}

}  // namespace analysis::plan
