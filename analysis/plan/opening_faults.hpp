// Doors and pipes that a room can't have. Pure.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "analysis/plan/room_plan.hpp"

namespace analysis::plan {

// Which entry of the request's `doors` or `pipes`, and what of it.
struct OpeningFault {
  std::string_view list;  // "doors", "pipes"
  std::size_t index = 0;
  std::string_view key;  // "from_corner", "at"; as the list's entries call it
  std::string text;      // one clause, the opening named
};

// The first fault: a wall that is not there, a door beyond its wall or over another one, a pipe
// outside of the room, in a wall or fixed item, or over another one. O(openings x corners).
[[nodiscard]] std::optional<OpeningFault> opening_fault(const RoomPlanRequest& request);

}  // namespace analysis::plan
