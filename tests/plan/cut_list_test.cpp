// The cut list of a small floor that was laid by hand.
#include "analysis/plan/layout/cut_list.hpp"

#include <catch2/catch.hpp>

using namespace analysis::plan;

namespace {

// 2 m by 0.3 m of panels 1.2 m by 0.2 m, 3 mm for each saw cut. Row 1: a whole panel and 0.8 m of
// panel 2, which leaves 1.2 - 0.8 - 0.003 = 0.397 m. That begins row 2, ripped to 0.1 m; then 1.2
// m; then 2 - 0.397 - 1.2 = 0.403 m of panel 4, which leaves 1.2 - 0.403 - 0.003 = 0.794 m.
const PanelSize kPanel{Metres{1.2}, Metres{0.2}};
RowLayout laid_by_hand() {
  return {{{0.0, 0.2, {{{0.0, 1.2, 1, true}, {1.2, 2.0, 2, false}}}},
           {0.2, 0.3, {{{0.0, 0.397, 2, false}, {0.397, 1.597, 3, true}, {1.597, 2.0, 4, false}}}}},
          4,
          {},
          0};
}

const LayoutRules kRules;
const Region kFloor{{{0, 0}, {2, 0}, {2, 0.3}, {0, 0.3}}, {}};
std::vector<CutRow> list_of(const RowLayout& layout, const Region& floor = kFloor) {
  return cut_list_from(layout, {floor, kPanel, kRules});
}

}  // namespace

TEST_CASE("A cut list says where each piece comes from and where its rest goes") {
  const auto rows = list_of(laid_by_hand());
  REQUIRE(rows.size() == 2);
  CHECK_FALSE(rows[0].ripped);
  CHECK(rows[1].ripped);
  CHECK(rows[1].width.value() == Approx(0.1));
  const CutPiece& cut = rows[0].runs[0][1];
  CHECK(cut.origin == PieceOrigin::new_panel);
  CHECK(cut.place == PiecePlace::ends);
  CHECK(cut.rest.length.value() == Approx(0.397));
  CHECK(cut.rest.row == 2);
  CHECK(cut.rest.place == PiecePlace::begins);
  const CutPiece& rest = rows[1].runs[0][0];
  CHECK(rest.origin == PieceOrigin::rest);
  CHECK(rest.rest.length.value() == 0.0);
  CHECK(rest.rest.is_waste());
  const CutPiece& last = rows[1].runs[0][2];
  CHECK(last.rest.length.value() == Approx(0.794));
  CHECK(last.rest.is_waste());
  CHECK(rows[1].runs[0][1].origin == PieceOrigin::whole_panel);
}

TEST_CASE("A cut list in words") {
  const auto rows = list_of(laid_by_hand());
  CHECK(pieces_text_from(rows[0], false) ==
        "1 whole, 80.0 cm of panel 2 (rest 39.7 cm begins row 2)");
  CHECK(pieces_text_from(rows[1], false) ==
        "39.7 cm, rest of panel 2, 1 whole, 40.3 cm of panel 4 (rest 79.4 cm is waste)");
  // 0.8 m = 31.496 in = 31 1/2; 0.397 m = 15.63 in = 15 5/8.
  CHECK(pieces_text_from(rows[0], true) ==
        "1 whole, 2' 7 1/2\" of panel 2 (rest 1' 3 5/8\" begins row 2)");
}

namespace {

Row row_at(double low_y, double high_y, std::vector<Piece> pieces) {
  Row row;
  row.low_y_m = low_y;
  row.high_y_m = high_y;
  row.runs = {std::move(pieces)};
  return row;
}

}  // namespace

TEST_CASE("A step in the outline: one piece is ripped, one notched, one stays") {
  // A row from y = 0 to 0.2 m; from x = 1.5 m on the floor ends at 0.12 m. Piece 1 stays; of piece
  // 2, from 1.0 to 2.0 m, 8 cm come off from its 50th centimetre on; piece 3 keeps 12 cm of its
  // width.
  const Region floor{{{0, 0}, {3, 0}, {3, 0.12}, {1.5, 0.12}, {1.5, 0.6}, {0, 0.6}}, {}};
  const RowLayout layout{
      {row_at(0.0, 0.2, {{0.0, 1.0, 1, false}, {1.0, 2.0, 2, false}, {2.0, 3.0, 3, false}})},
      3,
      {},
      0};
  const auto rows = list_of(layout, floor);
  const auto& run = rows[0].runs[0];
  CHECK_FALSE(run[0].shape.is_worked());
  CHECK(run[0].shape.width.value() == Approx(0.2));
  REQUIRE(run[1].shape.notches.size() == 1);
  const PieceNotch& notch = run[1].shape.notches[0];
  CHECK(notch.side == NotchSide::next_row);
  CHECK(notch.from.value() == Approx(0.5));
  CHECK(notch.to.value() == Approx(1.0));
  CHECK(notch.deep().value() == Approx(0.08));
  CHECK_FALSE(run[1].shape.is_ripped());
  CHECK(run[2].shape.width.value() == Approx(0.12));
  CHECK(run[2].shape.off_at_next.value() == Approx(0.08));
  CHECK(run[2].shape.notches.empty());
  CHECK(rip_text_from(rows[0], false) ==
        "full width; piece 2: notched at the next row, 8.0 cm deep from 50.0 cm to 100.0 cm; piece "
        "3: ripped to 12.0 cm (8.0 cm off at the next row)");
  // Two pieces alike are told once.
  const RowLayout alike{{row_at(0.0, 0.2, {{1.6, 2.0, 1, false}, {2.0, 2.5, 2, false}})}, 2, {}, 0};
  CHECK(rip_text_from(list_of(alike, floor)[0], false) ==
        "full width; pieces 1 to 2: ripped to 12.0 cm (8.0 cm off at the next row)");
}

TEST_CASE("A pillar inside a row is cut out, one at its edge is a notch") {
  // From x = 0.4 to 0.6 m, y = 0.05 to 0.12 m, in a row from 0 to 0.2 m.
  Region floor{{{0, 0}, {1, 0}, {1, 1}, {0, 1}},
               {{{0.4, 0.05}, {0.6, 0.05}, {0.6, 0.12}, {0.4, 0.12}}}};
  const Piece piece{0.1, 0.9, 1, false};
  const PieceShape inside = shape_of(floor, row_at(0.0, 0.2, {piece}), piece);
  REQUIRE(inside.notches.size() == 1);
  CHECK(inside.notches[0].side == NotchSide::inside);
  CHECK(text_from(inside, false) ==
        "cut out 7.0 cm deep, 5.0 cm off the row before, from 30.0 cm to 50.0 cm");
  // In a row from 0.1 to 0.3 m it takes 2 cm at the row before.
  const PieceShape edge = shape_of(floor, row_at(0.1, 0.3, {piece}), piece);
  CHECK(text_from(edge, false) == "notched at the row before, 2.0 cm deep from 30.0 cm to 50.0 cm");
}

TEST_CASE("A slanted end says how long the piece is along both edges") {
  // A wall from (2; 0) to (1; 1): at y = 0.2 m it stands at 1.8 m, at 0.4 m at 1.6 m.
  const Region floor{{{0, 0}, {2, 0}, {1, 1}, {0, 1}}, {}};
  const Piece piece{1.0, 1.8, 1, false};
  const PieceShape shape = shape_of(floor, row_at(0.2, 0.4, {piece}), piece);
  CHECK(shape.slanted);
  CHECK_FALSE(shape.is_ripped());
  CHECK(shape.along_before.value() == Approx(0.8).margin(0.002));
  CHECK(shape.along_next.value() == Approx(0.6).margin(0.002));
  CHECK(shape.notches.empty());
}
