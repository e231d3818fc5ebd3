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

}  // namespace

TEST_CASE("A cut list says where each piece comes from and where its rest goes") {
  const auto rows = cut_list_from(laid_by_hand(), kPanel, {});
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
  const auto rows = cut_list_from(laid_by_hand(), kPanel, {});
  CHECK(pieces_text_from(rows[0], false) ==
        "1 whole, 80.0 cm of panel 2 (rest 39.7 cm begins row 2)");
  CHECK(pieces_text_from(rows[1], false) ==
        "39.7 cm, rest of panel 2, 1 whole, 40.3 cm of panel 4 (rest 79.4 cm is waste)");
  // 0.8 m = 31.496 in = 31 1/2; 0.397 m = 15.63 in = 15 5/8.
  CHECK(pieces_text_from(rows[0], true) ==
        "1 whole, 2' 7 1/2\" of panel 2 (rest 1' 3 5/8\" begins row 2)");
}
