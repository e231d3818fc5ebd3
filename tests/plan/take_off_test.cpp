// Quantities to order, each with its arithmetic. Rules: common practice, no source.
#include "analysis/plan/takeoff/take_off.hpp"

#include <catch2/catch.hpp>

using namespace analysis::plan;

namespace {

Region rectangle(double width, double height) {
  return region_from({{{0, 0}, {width, 0}, {width, height}, {0, height}}, {}}).value();
}

const PackSize kPack{8, SquareMetres{1.92}};

}  // namespace

TEST_CASE("Cartons: area and ten per cent by the coverage of a pack, rounded up once") {
  // 20 m2 x 1.10 = 22.0 m2; 22.0 / 1.92 = 11.46 -> 12 cartons. 86 panels / 8 = 10.75 -> 11.
  const CartonNeed one = carton_need_from({{SquareMetres{20.0}, 86}}, kPack, 0);
  CHECK(one.cartons_by_rule == 12);
  CHECK(one.cartons_by_layout == 11);
  CHECK(one.cartons_to_order == 12);
  // 86 panels of 0.24 m2 = 20.64 m2: 3.2 % over 20.
  CHECK(one.waste_by_layout_fraction == Approx(0.032));
  // Two rooms of 20 m2: 44.0 / 1.92 = 22.9 -> 23, not 24. 5 came already.
  const CartonNeed two =
      carton_need_from({{SquareMetres{20.0}, 86}, {SquareMetres{20.0}, 87}}, kPack, 5);
  CHECK(two.cartons_by_rule == 23);
  CHECK(two.cartons_to_order == 18);
  // A room that really needs more than the rule says: 100 / 8 -> 13.
  CHECK(carton_need_from({{SquareMetres{20.0}, 100}}, kPack, 0).cartons_to_order == 13);
  CHECK(carton_need_from({{SquareMetres{20.0}, 86}}, kPack, 40).cartons_to_order == 0);
  // Exactly ten cartons are ten: 19.2 / 1.92.
  CHECK(carton_need_from({{SquareMetres{19.2}, 80}}, kPack, 0, 0.0).cartons_by_rule == 10);
}

TEST_CASE("Underlay is butted along the panels") {
  // 5 m x 4 m by rolls of 1 m x 10 m: 4 strips of 5 m = 20 m = 2 rolls; 3 seams of 5 m.
  const SheetNeed need = underlay_need_from(rectangle(5, 4), {Metres{1.0}, Metres{10.0}});
  CHECK(need.strips.size() == 4);
  CHECK(need.rolls == 2);
  CHECK(need.seams.value() == Approx(15.0));
  // 4.3 m needs a fifth strip: 25 m, 3 rolls.
  const SheetNeed fifth = underlay_need_from(rectangle(5, 4.3), {Metres{1.0}, Metres{10.0}});
  CHECK(fifth.strips.size() == 5);
  CHECK(fifth.rolls == 3);
}

TEST_CASE("Barrier sheets lap by 45 cm and turn up by 5 cm") {
  // 5 m x 4 m, sheets of 2 m from rolls of 25 m. To cover 4.10 m across: 2 + n x 1.55 >= 4.10 ->
  // two more, 3 strips of 5.10 m = 15.3 m, 30.6 m2. The other way 5.10 m: 2 + 2 x 1.55 = 5.10, just
  // enough: 3 strips of 4.10 m = 12.3 m, 24.6 m2. So across; 2 seams of 4.10 m.
  const auto need = barrier_need_from(rectangle(5, 4), {Metres{2.0}, Metres{25.0}}, {});
  REQUIRE(need);
  CHECK_FALSE(need.value().along_panels);
  CHECK(need.value().strips.size() == 3);
  CHECK(need.value().sheet.value() == Approx(24.6));
  CHECK(need.value().seams.value() == Approx(8.2));
  CHECK(need.value().rolls == 1);
  // One sheet of 6 m takes it whole.
  CHECK(barrier_need_from(rectangle(5, 4), {Metres{6.0}, Metres{25.0}}, {}).value().strips.size() ==
        1);
  // A roll of 3 m for a strip of 4.10 m: 3 + 1.55 = two pieces with one lap, 4.10 + 0.45 = 4.55 m.
  const auto pieced = barrier_need_from(rectangle(5, 4), {Metres{2.0}, Metres{3.0}}, {});
  CHECK(pieced.value().sheet.value() == Approx(3 * 4.55 * 2.0));
  CHECK_FALSE(barrier_need_from(rectangle(5, 4), {Metres{0.45}, Metres{25.0}}, {}));
}

TEST_CASE("Trim goes round the room but for the doors") {
  // 2 x (5 + 4) - 0.9 - 0.8 = 16.3 m; x 1.10 = 17.93 m / 2.4 m = 7.47 -> 8 bars; 16.3 / 0.4 -> 41.
  const TrimNeed need = trim_need_from(
      rectangle(5, 4), {{Metres{0.9}, Transition::same_level}, {Metres{0.8}, Transition::to_lower}},
      Metres{2.4});
  CHECK(need.wall.value() == Approx(16.3));
  CHECK(need.wall_lengths == 8);
  CHECK(need.spacers == 41);
  CHECK(need.t_moulding.value() == Approx(0.9));
  CHECK(need.reducer.value() == Approx(0.8));
  CHECK(need.edge.value() == 0.0);
}
