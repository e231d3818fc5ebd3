// Where to test the slab of a room: so many places, spread evenly over the floor, clear of walls
// and fixed items. Pure and deterministic. It knows the plan alone: pipes, cables and tendons in
// the slab have to be located on site before anything is drilled.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/base/units.hpp"
#include "analysis/plan/room/outline.hpp"

namespace analysis::plan {

// Distances are our assumption: about a yard from walls, since the edge of a slab dries and cools
// differently; from fixed items so far that a dish's prepared area of half a metre lies clear;
// apart so far that two places do not test the same one. Every wall counts as an outer one.
struct SlabPlaceRules {
  Metres from_walls{0.9};
  Metres from_items{0.3};
  Metres apart{1.0};
};

// Where the slab is expected to be wettest, and why (the newest pour, an outer wall).
struct WettestPlace {
  PlanPoint at;
  std::string why;
};

struct SlabPlacesRequest {
  Region room;            // passed region_from
  std::size_t count = 3;  // 1..2000, such as readiness::places_required_from_area
  SlabPlaceRules rules;
  std::optional<WettestPlace> wettest;
};

// The wall between two corners, as they were given (given_corner), and how far away it is, square
// to it.
struct WallDistance {
  int from_corner = 0;
  int to_corner = 0;
  Metres distance;
};
struct SlabPlace {
  PlanPoint at;
  std::vector<WallDistance> walls;  // the nearest, then the nearest that is not alongside it; 0..2
  bool expected_wettest = false;
};
struct SlabPlaces {
  std::vector<SlabPlace> places;     // the wettest first, the others by x, then y
  Metres clear_of_walls;             // the least of all places
  Metres apart;                      // the least between two; 0 for a single place
  std::vector<std::string> remarks;  // what the room did not allow; one sentence each
};

// The mean square of the distance from every point of the floor to its nearest place is made small,
// over points a small fraction of the room apart. Where the room is too small for the rules, the
// distance from walls yields in steps of a twentieth, then those between places and from items; a
// remark says so. Errors, one clause: count out of 1..2000, no free floor. O(points * count), at
// least 4000 points.
[[nodiscard]] base::Result<SlabPlaces, std::string> slab_places_from(
    const SlabPlacesRequest& request);

// So many places over the whole slab, shared among its rooms by area: at least one in each.
// `total` below the number of rooms counts as that number. Same order; the sum is the greater one.
[[nodiscard]] std::vector<std::size_t> places_shared(const std::vector<SquareMetres>& rooms,
                                                     std::size_t total);

// Where the marks go in a drawing of the room.
struct PlaceMark {
  PlanPoint at;
  std::string label;  // "T1", "T2" ... in the order of places
};
// `turned_degrees`: of the room as it is drawn, anticlockwise about the origin.
[[nodiscard]] std::vector<PlaceMark> place_marks(const SlabPlaces& places, double turned_degrees);

}  // namespace analysis::plan
