#include "analysis/plan/takeoff/shared_doorways.hpp"

#include <algorithm>

namespace analysis::plan {
namespace {

// Doors of `room` to `other`, up to `until` of them.
std::ptrdiff_t doors_between(const OrderedRoom& room, const std::string& other,
                             const DoorPlace* until = nullptr) {
  const auto& doors = room.request->doors;
  const DoorPlace* end = until != nullptr ? until : doors.data() + doors.size();
  return std::count_if(doors.data(), end,
                       [&](const DoorPlace& door) { return door.adjoins == other; });
}

}  // namespace

const OrderedRoom* room_beyond(const std::vector<OrderedRoom>& rooms, const OrderedRoom& room,
                               const DoorPlace& door) {
  const auto other = std::find_if(rooms.begin(), rooms.end(), [&](const OrderedRoom& each) {
    return &each != &room && each.name == door.adjoins;
  });
  return other != rooms.end() &&
                 doors_between(*other, room.name) > doors_between(room, other->name, &door)
             ? &*other
             : nullptr;
}

std::vector<DoorCountedElsewhere> doors_counted_elsewhere(const std::vector<OrderedRoom>& rooms,
                                                          const OrderedRoom& room) {
  std::vector<DoorCountedElsewhere> doors;
  for (const DoorPlace& place : room.request->doors) {
    const OrderedRoom* other = room_beyond(rooms, room, place);
    if (other != nullptr && other < &room) {
      doors.push_back({place.door.transition, place.door.width, other->name});
    }
  }
  return doors;
}

}  // namespace analysis::plan
