// Where in the room the stacks may lie. Pure and repeatable.
#pragma once

#include <optional>
#include <vector>

#include "analysis/plan/room/outline.hpp"
#include "analysis/plan/stacking/stacking_plan.hpp"

namespace analysis::plan {

struct StackRoom {
  Region room;                 // turned: rows along x, the first one at the low end of y
  std::vector<Outline> clear;  // to be left free: door swings, before heaters
};
struct PlacedStack {
  Bounds place;  // of the cartons, in the frame of the room
  int cartons = 0;
};

// Cartons flat, long side along or across the rows; 10 cm of air to walls, fixed items and what is
// to be left free, 20 cm between stacks (common practice, no source), as far from the first rows as
// the room allows. nullopt = not all of them find a place (on a grid of 5 cm or coarser, first come
// first served: a fuller arrangement may exist). O(area * corners * stacks).
[[nodiscard]] std::optional<std::vector<PlacedStack>> places_for(const Stacking& stacking,
                                                                 const CartonSize& carton,
                                                                 int cartons,
                                                                 const StackRoom& room);

}  // namespace analysis::plan
