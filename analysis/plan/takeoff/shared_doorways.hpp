// Doorways that two rooms of an order both list. Pure.
#pragma once

#include <string>
#include <vector>

#include "analysis/plan/takeoff/order_list.hpp"

namespace analysis::plan {

// The room that a door leads to, where that one lists a door back to this room: one doorway. The
// n-th such door of one room is the n-th of the other. nullptr = none, or its room is not listed.
// REQUIRES: `room` is of `rooms`, `door` of `room`.
[[nodiscard]] const OrderedRoom* room_beyond(const std::vector<OrderedRoom>& rooms,
                                             const OrderedRoom& room, const DoorPlace& door);

// Of a room: doors whose profile the order counts with the room beyond, which is listed before.
struct DoorCountedElsewhere {
  Transition transition{};
  Metres width;
  std::string with;  // that room's name
};
[[nodiscard]] std::vector<DoorCountedElsewhere> doors_counted_elsewhere(
    const std::vector<OrderedRoom>& rooms, const OrderedRoom& room);

}  // namespace analysis::plan
