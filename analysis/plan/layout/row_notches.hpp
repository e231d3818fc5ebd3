// Where a wall or fixed item inside the room takes some of a row's width over part of its length.
// Pure.
#pragma once

#include <string>
#include <vector>

#include "analysis/plan/layout/row_layout.hpp"
#include "analysis/plan/room/remark.hpp"

namespace analysis::plan {

struct RowNotch {
  int row = 0;  // from 1
  Metres from;  // from the left end of its run
  Metres to;
  Metres left;                // width that is left there
  bool on_far_side = false;   // what is cut off lies at the next row, else at the row before
  bool is_whole_run = false;  // from one end of the run to the other
};

// Walls that lie along the rows and inside one, by row and place; slanted ones are left out, since
// the pieces end at them. REQUIRES: `layout` was made for `floor`, whose rows lie along x.
[[nodiscard]] std::vector<RowNotch> notches_of(const Region& floor, const RowLayout& layout);

// "row 17: from 2.48 m to 4.98 m from its left end ripped to 18.2 cm beside a wall, cut off at the
// next row"
[[nodiscard]] Remark remark_of(const RowNotch& notch);

}  // namespace analysis::plan
