// Rows of click panels on a floor: which piece lies where and which panel it is cut from. Pure and
// repeatable: the same request gives the same rows, in a fixed number of steps.
//
// How it is found: docs/plan-layout.md. Never more panels than the simple rule of the trade (begin
// a run with the rest of the run before) where that keeps the rules.
#pragma once

#include <cstdint>
#include <optional>
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

// How long is searched. Measured figures: docs/plan-layout.md.
enum class LayoutEffort : std::uint8_t { quick, thorough };

// Rows lie along x, the first one at the low end of y. `region` is what the floor covers (gaps at
// the walls are taken off already), `field` the part of it that is laid as one floor.
struct LayoutRequest {
  Region region;
  Bounds field;
  PanelSize panel;
  LayoutRules rules;
  LayoutEffort effort = LayoutEffort::thorough;
};

struct Piece {
  double low_x_m = 0.0;
  double high_x_m = 0.0;
  int panel = 0;       // from 1, in the order of laying: the panel it is cut from
  bool whole = false;  // the panel's full length
  [[nodiscard]] double length_m() const { return high_x_m - low_x_m; }
};

struct Row {
  double low_y_m = 0.0;
  double high_y_m = 0.0;
  std::vector<std::vector<Piece>> runs;  // by increasing x; more than one where the room is divided
};

enum class RowRule : std::uint8_t { end_joints, piece_length, row_width };
// A rule that a row does not keep.
struct RuleBreak {
  RowRule rule{};
  int row = 0;       // from 1
  Metres from_side;  // where: from the low end of x of the field; not looked at for a row's width
  Metres value;
  Metres limit;
};

struct RowLayout {
  std::vector<Row> rows;
  int panels = 0;
  // What the room does not allow, by row; empty = every rule is kept.
  std::vector<RuleBreak> breaks;
  // Panels that a first row as wide as the last would need more; 0 = they are alike.
  int saved_by_widths = 0;
  int least_panels = 0;  // that any such rows need (row_bound.hpp)
};

// Panels shorter than two least pieces, sizes or rules that are not positive, a field without
// height, more than 2000 rows: one clause; nullopt = rows can be laid.
[[nodiscard]] std::optional<std::string> layout_fault(const LayoutRequest& request);

// Error: layout_fault.
[[nodiscard]] base::Result<RowLayout, std::string> row_layout_from(const LayoutRequest& request);

// "row 3, 1.2 m from the left: end joints 31 cm from those of the row before, 40 cm asked for; ..."
[[nodiscard]] std::string text_from(const RuleBreak& broken, bool imperial);

}  // namespace analysis::plan
