// Shapes and places of stacks: worked values, and a check of its own over random rooms. Distances:
// common practice, no source. Cartons are invented.
#include "analysis/plan/stacking/stack_places.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "analysis/plan/room/wall_stretch.hpp"
#include "tests/plan/plan_rooms.hpp"
#include "tests/plan/random_rooms.hpp"

using namespace analysis::plan;
using analysis::base::micros_from_hours;
using plan_tests::room_of;

namespace {

const CartonSize kCarton{Metres{1.3}, Metres{0.2}, Metres{0.09}, Kilograms{15.0}};

Stacking stacks_of(int stacks, int high, int wide) {
  Stacking stacking;
  stacking.stacks = stacks;
  stacking.cartons_high = high;
  stacking.cartons_wide = wide;
  return stacking;
}
StackingSite warm_site() {
  StackingSite site;
  site.room = Celsius{20.0};
  site.cartons_come_at = Celsius{5.0};
  site.dwell = micros_from_hours(48);
  site.free_floor = SquareMetres{30.0};
  return site;
}

// Points along the edge of a box, drawn out by `air`.
std::vector<PlanPoint> rim_of(const Bounds& box, double air) {
  std::vector<PlanPoint> rim;
  constexpr int kPoints = 12;
  for (int i = 0; i <= kPoints; ++i) {
    const double share = static_cast<double>(i) / kPoints;
    const double x = box.low_x_m - air + share * (box.high_x_m - box.low_x_m + 2 * air);
    const double y = box.low_y_m - air + share * (box.high_y_m - box.low_y_m + 2 * air);
    rim.insert(rim.end(), {{x, box.low_y_m - air}, {x, box.high_y_m + air}});
    rim.insert(rim.end(), {{box.low_x_m - air, y}, {box.high_x_m + air, y}});
  }
  return rim;
}

std::vector<std::string> faults_of(const std::vector<PlacedStack>& stacks, const StackRoom& room) {
  constexpr double kAlmost = 0.0999;
  std::vector<std::string> faults;
  for (std::size_t i = 0; i < stacks.size(); ++i) {
    const Bounds& box = stacks[i].place;
    for (const PlanPoint point : rim_of(box, kAlmost)) {
      if (!contains(room.room, point)) {
        faults.emplace_back("a stack is less than 10 cm off a wall or item");
      }
      for (const Outline& clear : room.clear) {
        if (contains(Region{clear, {}}, point)) {
          faults.emplace_back("a stack lies where a door or heater is");
        }
      }
    }
    for (std::size_t j = 0; j < i; ++j) {
      const Bounds& other = stacks[j].place;
      const double apart_x = std::max(box.low_x_m - other.high_x_m, other.low_x_m - box.high_x_m);
      const double apart_y = std::max(box.low_y_m - other.high_y_m, other.low_y_m - box.high_y_m);
      if (std::max(apart_x, apart_y) < 2 * kAlmost) {
        faults.emplace_back("two stacks are less than 20 cm apart");
      }
    }
  }
  return faults;
}

}  // namespace

TEST_CASE("A stacking says its load, the floor it covers and its lead") {
  const auto found = stackings_for(20, kCarton, warm_site());
  REQUIRE(found);
  for (const Stacking& stacking : found.value()) {
    INFO(stacking.cartons_high << " high, " << stacking.cartons_wide << " wide");
    const int each = stacking.cartons_high * stacking.cartons_wide;
    CHECK(stacking.stacks == (20 + each - 1) / each);
    // 15 kg / (1.3 m x 0.2 m) = 57.69 kg/m2 for each carton of the height.
    CHECK(stacking.load_kg_per_m2 == Approx(stacking.cartons_high * 57.692).epsilon(1e-4));
    CHECK(stacking.load_kg_per_m2 <= 200.0);
    // Each stack with 10 cm of air: 1.5 m x (0.2 m x wide + 0.2 m).
    CHECK(stacking.covers.value() ==
          Approx(stacking.stacks * 1.5 * (0.2 * stacking.cartons_wide + 0.2)));
    CHECK(stacking.lead >= micros_from_hours(48));
    CHECK(stacking.lead >= stacking.warm_up);
  }
  // 3 x 57.7 = 173 kg/m2 is the most of 200.
  CHECK(std::none_of(found.value().begin(), found.value().end(),
                     [](const Stacking& each) { return each.cartons_high > 3; }));
  StackingSite weak = warm_site();
  weak.most_load_kg_per_m2 = 50.0;
  CHECK_FALSE(stackings_for(20, kCarton, weak));
}

TEST_CASE("Few, low and light stacks come first among those that the dwell covers") {
  StackingSite site = warm_site();
  site.dwell = micros_from_hours(24 * 30);  // decides for every shape
  // 29 cartons, 57.7 kg/m2 for each of the height; 0.75 x 200 = 150 kg/m2 let two lie on each
  // other: 2 high and 2 wide, 29 / 4 = 7.25: 8 stacks. 3 high would be 5 stacks of 173 kg/m2.
  const auto found = stackings_for(29, kCarton, site);
  REQUIRE(found);
  CHECK(found.value().front().stacks == 8);
  CHECK(found.value().front().cartons_high == 2);
  CHECK(found.value().front().cartons_wide == 2);
  // A floor that bears more: 3 x 57.7 = 173 of 0.75 x 240 = 180; 4 are 231. 29 / 6 = 4.8.
  site.most_load_kg_per_m2 = 240.0;
  CHECK(stackings_for(29, kCarton, site).value().front().stacks == 5);
  // One that is light nowhere: 57.7 of 70, more than 52.5; the fewest all the same.
  site.most_load_kg_per_m2 = 70.0;
  CHECK(stackings_for(29, kCarton, site).value().front().stacks == 15);
}

TEST_CASE("Fewer stacks are worth a delivery one day earlier, not more") {
  for (const double dwell_hours : {1.0, 48.0}) {
    StackingSite site = warm_site();
    site.dwell = micros_from_hours(dwell_hours);
    const auto found = stackings_for(29, kCarton, site).value();
    const auto lead_of = [](const Stacking& a, const Stacking& b) { return a.lead < b.lead; };
    const Micros soon =
        std::min_element(found.begin(), found.end(), lead_of)->lead + micros_from_hours(24);
    CHECK(found.front().lead <= soon);
    CHECK(std::is_sorted(found.begin(), found.end(), [&](const Stacking& a, const Stacking& b) {
      return (a.lead > soon) < (b.lead > soon);
    }));
    for (const Stacking& each : found) {
      if (each.lead <= soon && each.load_kg_per_m2 <= 150.0) {
        CHECK(found.front().stacks <= each.stacks);
      }
    }
  }
}

TEST_CASE("Colder cartons never need to come later") {
  Micros before{0};
  for (const double celsius : {15.0, 5.0, -10.0}) {
    StackingSite site = warm_site();
    site.cartons_come_at = Celsius{celsius};
    site.dwell = micros_from_hours(1);
    const auto found = stackings_for(20, kCarton, site);
    REQUIRE(found);
    CHECK(found.value().front().lead >= before);
    before = found.value().front().lead;
  }
}

TEST_CASE("A stack lies away from the walls and the first rows") {
  // 4 m x 4 m: the far side less 10 cm.
  const auto placed = places_for(stacks_of(1, 3, 2), kCarton, 5, {room_of(4, 4), {}});
  REQUIRE(placed);
  CHECK(placed->front().place.high_y_m == Approx(3.9));
  CHECK(placed->front().place.low_x_m == Approx(0.1));
  CHECK(placed->front().cartons == 5);
  // 0.4 m of cartons and 10 cm at each side: 0.6 m, and not a hand less.
  CHECK(places_for(stacks_of(1, 3, 2), kCarton, 6, {room_of(3, 0.6), {}}));
  CHECK_FALSE(places_for(stacks_of(1, 3, 2), kCarton, 6, {room_of(3, 0.59), {}}));
  // Turned, where only that fits.
  CHECK(places_for(stacks_of(1, 3, 2), kCarton, 6, {room_of(0.6, 3), {}}));
}

TEST_CASE("The last stack may be lower") {
  const auto placed = places_for(stacks_of(3, 2, 1), kCarton, 5, {room_of(5, 5), {}});
  REQUIRE(placed);
  CHECK(placed->at(0).cartons == 2);
  CHECK(placed->at(1).cartons == 2);
  CHECK(placed->at(2).cartons == 1);
}

TEST_CASE("Doors and heaters stay free") {
  const Region room = room_of(2.0, 2.0);
  // The far wall goes from corner 3 at (2, 2) to corner 4 at (0, 2).
  const Outline before = place_before(room, {3, Metres{0.5}, Metres{1.0}}, Metres{1.2});
  CHECK(before[0].x_m == Approx(1.5));
  CHECK(before[0].y_m == Approx(2.0));
  CHECK(before[2].x_m == Approx(0.5));
  CHECK(before[2].y_m == Approx(0.8));
  const StackRoom kept{room, {before}};
  const auto placed = places_for(stacks_of(1, 1, 1), kCarton, 1, kept);
  REQUIRE(placed);
  CHECK(faults_of(*placed, kept).empty());
  // Beside it, turned: 0.2 m of cartons between 10 cm off the wall and 10 cm off the door's place.
  CHECK(placed->front().place.high_x_m <= 0.401);
  // All along the wall: below it, 2.0 - 1.2 - 0.1 m.
  const auto below =
      places_for(stacks_of(1, 1, 1), kCarton, 1,
                 {room, {place_before(room, {3, Metres{0.0}, Metres{2.0}}, Metres{1.2})}});
  REQUIRE(below);
  CHECK(below->front().place.high_y_m <= 0.701);
  // All of it kept free.
  CHECK_FALSE(places_for(stacks_of(1, 1, 1), kCarton, 1,
                         {room, {place_before(room, {3, Metres{0.0}, Metres{2.0}}, Metres{2.0})}}));
}

TEST_CASE("Stacks keep their distances in rooms of many shapes") {
  constexpr std::uint32_t kSeed = 20260512;
  INFO("seed " << kSeed);
  plan_tests::RandomRooms rooms(kSeed);
  int placed_rooms = 0;
  for (int i = 0; i < 200; ++i) {
    const Region room = turned(region_from(rooms.next()).value(), rooms.pick(2) * 33.0);
    const StackRoom site{room, {place_before(room, {1, Metres{0.1}, Metres{0.8}}, Metres{1.2})}};
    const int count = 1 + static_cast<int>(rooms.pick(6));
    INFO("room " << i);
    if (const auto placed = places_for(stacks_of(count, 2, 2), kCarton, 4 * count, site)) {
      ++placed_rooms;
      CHECK(placed->size() == static_cast<std::size_t>(count));
      CHECK(faults_of(*placed, site).empty());
    }
  }
  CHECK(placed_rooms > 150);
}
