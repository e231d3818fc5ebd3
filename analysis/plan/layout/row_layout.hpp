// Rows of click panels on a floor: which piece lies where and which panel it is cut from. Pure and
// repeatable: the same request gives the same rows. A fixed budget of steps, about a tenth of a
// second for a room of 100 m2.
//
// A beam search over the rows keeps the arrangements that used the least panels and left the most
// useful off-cuts; one of them always follows the simple rule of the trade (begin a row with the
// off-cut of the row before), so that the result never needs more panels than that.
#pragma once

#include <string>
#include <vector>

#include "analysis/plan/room/outline.hpp"

namespace analysis::plan {

// What one panel covers, without tongue. Common practice, no source: 1.2..1.4 m by 0.13..0.33 m.
struct PanelSize {
  Metres length;
  Metres width;
};

// Common practice, no source; the floor's own instructions win.
struct LayoutRules {
  Metres least_piece{0.20};
  Metres least_offset{0.40};     // of end joints in rows beside each other
  Metres least_row_width{0.05};  // of the first and last row
  Metres saw_cut{0.003};
};

// Rows lie along x, the first one at the low end of y. `region` is what the floor covers (gaps at
// the walls are taken off already), `field` the part of it that is laid as one floor.
struct LayoutRequest {
  Region region;
  Bounds field;
  PanelSize panel;
  LayoutRules rules;
};

struct Piece {
  double low_x_m = 0.0;
  double high_x_m = 0.0;
  int panel = 0;       // from 1: the panel it is cut from
  bool whole = false;  // the panel's full length
  [[nodiscard]] double length_m() const { return high_x_m - low_x_m; }
};

struct Row {
  double low_y_m = 0.0;
  double high_y_m = 0.0;
  std::vector<std::vector<Piece>> runs;  // by increasing x; more than one where the room is divided
};

struct RowLayout {
  std::vector<Row> rows;
  int panels = 0;
  // What the room does not allow, one sentence each; empty = every rule is kept.
  std::vector<std::string> exceptions;
};

// Errors, one clause: panels shorter than two least pieces, sizes or rules that are not positive, a
// field without height, more than 2000 rows.
[[nodiscard]] base::Result<RowLayout, std::string> row_layout_from(const LayoutRequest& request);

// Widths of the rows over `height`, first to last: whole panels, the first and last cut to the same
// width where they do not come out even.
[[nodiscard]] std::vector<double> row_widths_m(double height_m, double panel_width_m);

}  // namespace analysis::plan
