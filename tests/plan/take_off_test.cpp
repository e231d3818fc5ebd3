// Quantities to order, each with its arithmetic. Rules: common practice, no source.
#include "analysis/plan/takeoff/take_off.hpp"

#include "tests/plan/plan_rooms.hpp"

using namespace analysis::plan;
using plan_tests::room_of;

namespace {

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
  // 40 came of 12: 28 over.
  CHECK(carton_need_from({{SquareMetres{20.0}, 86}}, kPack, 40).over == 28);
  // 20 x 1.10 + 20 x 1.20 = 46.0 m2, / 1.92 m2 = 23.96: 24, where 20 % of both would take 25.
  CHECK(carton_need_from({{SquareMetres{20.0}, 86, 0.10}, {SquareMetres{20.0}, 86, 0.20}}, kPack, 0)
            .cartons_by_rule == 24);
  // Exactly ten cartons are ten: 19.2 / 1.92.
  CHECK(carton_need_from({{SquareMetres{19.2}, 80, 0.0}}, kPack, 0).cartons_by_rule == 10);
}

TEST_CASE("Underlay is butted along the panels") {
  // 5 m x 4 m by rolls of 1 m x 10 m: 4 strips of 5 m = 20 m = 2 rolls; 3 seams of 5 m.
  const SheetNeed need = underlay_need_from(room_of(5, 4), {Metres{1.0}, Metres{10.0}});
  CHECK(need.strips.size() == 4);
  CHECK(need.rolls == 2);
  CHECK(need.seams.value() == Approx(15.0));
  // 4.3 m needs a fifth strip: 25 m, 3 rolls.
  const SheetNeed fifth = underlay_need_from(room_of(5, 4.3), {Metres{1.0}, Metres{10.0}});
  CHECK(fifth.strips.size() == 5);
  CHECK(fifth.rolls == 3);
}

TEST_CASE("The rest of a roll of underlay begins the next strip") {
  // 9 m x 15.3 m by rolls of 1 m x 15 m: 16 strips of 9 m = 144 m, / 15 m = 9.6: 10 rolls, where a
  // strip in one piece each takes 16. Seams: 15 of 9 m; of the 9 ends of rolls those at 45 m and 90
  // m and 135 m lie between two strips, the other 6 within one, 1 m each: 141 m.
  const SheetNeed need = underlay_need_from(room_of(9, 15.3), {Metres{1.0}, Metres{15.0}});
  CHECK(need.strips.size() == 16);
  CHECK(need.rolls == 10);
  CHECK(need.seams.value() == Approx(141.0));
}

TEST_CASE("A barrier need not follow panels that lie at an angle") {
  // The room of 5 m x 4 m above, turned by 30 degrees: 24.6 m2 along its walls.
  const auto need = barrier_need_from(turned(room_of(5, 4), 30.0), {Metres{2.0}, Metres{25.0}}, {});
  REQUIRE(need);
  CHECK(need.value().lay == SheetLay::along_walls);
  CHECK(need.value().sheet.value() == Approx(24.6));
}

TEST_CASE("Barrier sheets lap by 45 cm and turn up by 5 cm") {
  // 5 m x 4 m, sheets of 2 m from rolls of 25 m. To cover 4.10 m across: 2 + n x 1.55 >= 4.10 ->
  // two more, 3 strips of 5.10 m = 15.3 m, 30.6 m2. The other way 5.10 m: 2 + 2 x 1.55 = 5.10, just
  // enough: 3 strips of 4.10 m = 12.3 m, 24.6 m2. So across; 2 seams of 4.10 m.
  const auto need = barrier_need_from(room_of(5, 4), {Metres{2.0}, Metres{25.0}}, {});
  REQUIRE(need);
  CHECK(need.value().lay == SheetLay::across_panels);
  CHECK(need.value().strips.size() == 3);
  CHECK(need.value().sheet.value() == Approx(24.6));
  CHECK(need.value().seams.value() == Approx(8.2));
  CHECK(need.value().rolls == 1);
  // One sheet of 6 m takes it whole.
  CHECK(barrier_need_from(room_of(5, 4), {Metres{6.0}, Metres{25.0}}, {}).value().strips.size() ==
        1);
  // A roll of 3 m for a strip of 4.10 m: 3 + 1.55 = two pieces with one lap, 4.10 + 0.45 = 4.55 m.
  const auto pieced = barrier_need_from(room_of(5, 4), {Metres{2.0}, Metres{3.0}}, {});
  CHECK(pieced.value().sheet.value() == Approx(3 * 4.55 * 2.0));
  CHECK_FALSE(barrier_need_from(room_of(5, 4), {Metres{0.45}, Metres{25.0}}, {}));
}

TEST_CASE("Trim goes round the room but for the doors") {
  // 2 x (5 + 4) - 0.9 - 0.8 = 16.3 m; x 1.10 = 17.93 m / 2.4 m = 7.47 -> 8 bars; 16.3 / 0.4 -> 41.
  const TrimNeed need = trim_need_from(
      room_of(5, 4), {{Metres{0.9}, Transition::same_level}, {Metres{0.8}, Transition::to_lower}},
      Metres{2.4});
  CHECK(need.wall.value() == Approx(16.3));
  CHECK(need.wall_lengths == 8);
  CHECK(need.spacers == 41);
  CHECK(need.t_moulding.value() == Approx(0.9));
  CHECK(need.reducer.value() == Approx(0.8));
  CHECK(need.edge.value() == 0.0);
}
