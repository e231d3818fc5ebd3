// The order over several rooms, each figure with its arithmetic. Rules: common practice, no source.
// Rooms and prices are invented.
#include "analysis/plan/takeoff/order_list.hpp"

#include <algorithm>

#include "analysis/plan/takeoff/shared_doorways.hpp"
#include "tests/plan/plan_rooms.hpp"

using namespace analysis::plan;
using namespace plan_tests;

namespace {

// 5 m x 4 m with a door of 0.9 m; packs of 8 panels, 1.92 m2.
struct OrderSite {
  RoomPlanRequest request = request_for(rectangle(5, 4));
  RoomPlan plan;
  OrderTerms terms;

  explicit OrderSite(Transition transition = Transition::same_level) {
    request.doors = {{1, Metres{1.0}, {Metres{0.9}, transition}, false, ""}};
    request.underlay = RollSize{Metres{1.0}, Metres{15.0}};
    request.barrier = RollSize{Metres{2.0}, Metres{25.0}};
    plan = plan_of(request);
  }
  [[nodiscard]] OrderedRoom ordered(const char* name, int delivered = 0) const {
    return {name, "Laminate", {8, SquareMetres{1.92}}, delivered, 0.10, &request, &plan, terms};
  }
};

OrderLine line_of(const OrderList& list, const std::string& begin) {
  const auto line = std::find_if(list.lines.begin(), list.lines.end(), [&](const OrderLine& each) {
    return each.item.rfind(begin, 0) == 0;
  });
  INFO(begin);
  REQUIRE(line != list.lines.end());
  return *line;
}
bool says(const OrderLine& line, const std::string& words) {
  INFO(line.reckoning);
  return line.reckoning.find(words) != std::string::npos;
}

}  // namespace

TEST_CASE("Two rooms are ordered as one and rounded up once") {
  const OrderSite site;
  const OrderList list = order_list_from({site.ordered("hall"), site.ordered("study")}, false);
  // 40 m2 x 1.10 = 44.0 m2, / 1.92 m2 = 22.92: 23 cartons, where each alone would take 12.
  CHECK(line_of(list, "Laminate").quantity == 23);
  CHECK(says(line_of(list, "Laminate"), "40.00 m² and 10 % = 44.00 m², / 1.920 m² = 22.92"));
  // Each room has 4 strips of 5 m: 8 strips, 3 out of a roll of 15 m: 3 rolls, where each alone
  // would take 2.
  CHECK(line_of(list, "Underlay").quantity == 3);
  CHECK(says(line_of(list, "Underlay"), "8 strips, 40.00 m in all"));
  // Each room: 3 sheets of 4.10 m across the panels; 6 x 4.10 = 24.6 m of one roll of 25 m.
  CHECK(line_of(list, "Vapour barrier").quantity == 1);
  CHECK(says(line_of(list, "Vapour barrier"), "lapped 0.45 m, turned up 0.05 m"));
  // Seams: underlay 3 x 5 m, barrier 2 x 4.10 m, of each room: 46.4 m / 25 m = 1.86.
  CHECK(line_of(list, "Seam tape").quantity == 2);
  // The rolls end at 15 and 30 m: between two strips, as each strip is 5 m. No seams are added.
  CHECK(says(line_of(list, "Seam tape"),
             "23.20 + 23.20 = 46.40 m of seams, room by room, a roll of underlay going on from one "
             "to the next, / 25.00 m = 1.86"));
  // 2 x (18 - 0.9) = 34.2 m, x 1.10 = 37.62 m, / 2.4 m = 15.68.
  CHECK(line_of(list, "Wall trim").quantity == 16);
  // Both doors, 1.8 m, out of one bar of 2.4 m.
  CHECK(line_of(list, "T-moulding").quantity == 1);
  // 17.1 m / 0.4 m = 42.75 of one room; the other uses them again.
  CHECK(line_of(list, "Spacers").quantity == 43);
  CHECK(says(line_of(list, "Spacers"), "17.10 m of wall / 0.40 m in hall"));
}

TEST_CASE("Seams of a roll that goes on into the next room are those where it really ends") {
  // Rolls of 12 m, strips of 5 m. Room by room they would end at 12 m, within the third strip: 1 m
  // of seam in each. Going on: at 12 m in the first room's third strip, at 24 m in the second
  // room's first strip (20 to 25 m), at 36 m in its fourth (35 to 40 m): 1 m and 2 m. With 3 x 5 m
  // between strips and no barrier: 16 and 17 m, 33 m / 25 m = 1.32, where room by room 32 m would
  // be taped.
  OrderSite site;
  site.request.barrier.reset();
  site.request.underlay = RollSize{Metres{1.0}, Metres{12.0}};
  site.plan = plan_of(site.request);
  CHECK(site.plan.underlay->seams.value() == Approx(16.0));
  const OrderLine tape =
      line_of(order_list_from({site.ordered("hall"), site.ordered("study")}, false), "Seam tape");
  CHECK(says(tape, "16.00 + 17.00 = 33.00 m of seams"));
  CHECK(says(line_of(order_list_from({site.ordered("hall")}, false), "Seam tape"),
             "16.00 m of seams / 25.00 m = 0.64"));
}

TEST_CASE("What came already is counted off over all rooms") {
  const OrderSite site;
  const OrderLine line = line_of(
      order_list_from({site.ordered("hall", 20), site.ordered("study", 2)}, false), "Laminate");
  CHECK(line.quantity == 1);
  CHECK(says(line, "less 22 that came"));
  CHECK_FALSE(says(line, "over"));
  // Cartons that have all come stay on the list, so that nobody asks where they are.
  CHECK(line_of(order_list_from({site.ordered("hall", 30)}, false), "Laminate").quantity == 0);
}

TEST_CASE("A doorway that both rooms name takes one profile") {
  OrderSite hall;
  OrderSite study;
  hall.request.doors[0].adjoins = "study";
  study.request.doors[0].adjoins = "hall";
  const auto moulding = [&] {
    return line_of(order_list_from({hall.ordered("hall"), study.ordered("study")}, false),
                   "T-moulding");
  };
  CHECK(moulding().reckoning.rfind("0.90 m in a doorway, once, of study and hall;", 0) == 0);
  const std::vector<OrderedRoom> rooms{hall.ordered("hall"), study.ordered("study")};
  CHECK(doors_counted_elsewhere(rooms, rooms[0]).empty());
  const auto elsewhere = doors_counted_elsewhere(rooms, rooms[1]);
  REQUIRE(elsewhere.size() == 1);
  CHECK(elsewhere[0].with == "hall");
  CHECK(elsewhere[0].width.value() == Approx(0.9));
  CHECK(elsewhere[0].transition == Transition::same_level);
  study.request.doors[0].adjoins = "attic";
  CHECK(says(moulding(), "0.90 m in a door of hall; 0.90 m in a door of study"));
}

TEST_CASE("Two panels of one name are told apart") {
  const OrderSite site;
  OrderSite wide;
  wide.request.panel.width = Metres{0.24};
  const OrderList list = order_list_from({site.ordered("hall"), wide.ordered("study")}, false);
  CHECK(list.lines[0].item == "Laminate, panels of 1.20 m x 0.20 m, 8 in a carton");
  CHECK(list.lines[1].item == "Laminate, panels of 1.20 m x 0.24 m, 8 in a carton");
}

TEST_CASE("Transitions choose the profile, and the adjoining floor's height the transition") {
  CHECK(transition_from_step(Metres{0.003}) == Transition::same_level);
  CHECK(transition_from_step(Metres{-0.003}) == Transition::same_level);
  CHECK(transition_from_step(Metres{-0.004}) == Transition::to_lower);
  CHECK(transition_from_step(Metres{0.004}) == Transition::to_edge);
  const OrderSite lower(Transition::to_lower);
  const OrderSite edge(Transition::to_edge);
  const OrderList list = order_list_from({lower.ordered("hall"), edge.ordered("study")}, false);
  CHECK(line_of(list, "Reducer").quantity == 1);
  CHECK(line_of(list, "Edge profile").quantity == 1);
  CHECK(std::none_of(list.lines.begin(), list.lines.end(),
                     [](const OrderLine& line) { return line.item.rfind("T-moulding", 0) == 0; }));
}

TEST_CASE("A joint across the floor takes T-moulding") {
  OrderSite site;
  site.request.doors.clear();
  site.request.widest = Metres{3.0};
  site.plan = plan_of(site.request);
  // 3.98 m within its gaps, more than 3 m: one joint of 4.98 m, / 2.4 m = 2.08: 3 bars.
  CHECK(line_of(order_list_from({site.ordered("hall")}, false), "T-moulding").quantity == 3);
}

TEST_CASE("A total says what it leaves out") {
  OrderSite priced;
  priced.terms.prices = {"EUR", 41.50, 32.0, {}, {}, {}, {}, {}};
  const OrderSite unpriced;
  const OrderList list =
      order_list_from({unpriced.ordered("hall"), priced.ordered("study")}, false);
  // 23 x 41.50 = 954.50; 3 x 32.00 = 96.00; together 1050.50.
  CHECK(list.total == Approx(1050.50));
  CHECK(list.without_price.size() == 5);
  CHECK(price_text(line_of(list, "Laminate"), list.currency) == "954.50 EUR");
  CHECK(unit_price_text(line_of(list, "Laminate")) == "23 x 41.50");
  CHECK(total_text(list).rfind("1050.50 EUR; no price is given for: Vapour barrier", 0) == 0);
  const OrderList none = order_list_from({unpriced.ordered("hall")}, false);
  CHECK(total_text(none).empty());
  CHECK_FALSE(line_of(none, "Laminate").price());
}

TEST_CASE("Different packs and rolls are different lines") {
  const OrderSite site;
  OrderSite wide;
  wide.request.underlay = RollSize{Metres{1.2}, Metres{15.0}};
  wide.plan = plan_of(wide.request);
  OrderedRoom oak = wide.ordered("study");
  oak.product = "Oak";
  const OrderList list = order_list_from({site.ordered("hall"), oak}, false);
  // 20 m2 x 1.10 / 1.92 m2 = 11.46 each.
  CHECK(line_of(list, "Laminate").quantity == 12);
  CHECK(line_of(list, "Oak").quantity == 12);
  CHECK(line_of(list, "Underlay, roll of 1.00 m").quantity == 2);
  CHECK(line_of(list, "Underlay, roll of 1.20 m").quantity == 2);
}

TEST_CASE("Lengths of the order can be feet and inches") {
  const OrderSite site;
  const OrderList list = order_list_from({site.ordered("hall")}, true);
  // 15 m / 0.3048 = 49.2126 ft: 49' 2 9/16".
  CHECK(line_of(list, "Underlay").item == "Underlay, roll of 3' 3 3/8\" x 49' 2 9/16\"");
  // 20 m2 x 10.7639 = 215.3 ft2.
  CHECK(says(line_of(list, "Laminate"), "215.3 ft²"));
}
