// How wide the first and the last row are. Pure.
#pragma once

#include <optional>
#include <vector>

#include "analysis/plan/layout/panel_run.hpp"
#include "analysis/plan/layout/row_layout.hpp"

namespace analysis::plan {

// Widths of the rows over `height`, first to last: whole panels, the first and last cut to the same
// width where they do not come out even, so that neither is less than half a panel.
[[nodiscard]] std::vector<double> balanced_widths_m(double height_m, double panel_width_m);

// Rows over `height`, the first `first_m` wide, whole panels, one last row of what is left.
// REQUIRES: 0 < first_m <= height_m.
[[nodiscard]] std::vector<double> widths_from_first_m(double height_m, double panel_width_m,
                                                      double first_m);

// First widths up to a panel with which some row ends at this height.
[[nodiscard]] double first_width_to_m(double height_m, double panel_width_m);
// First widths that bring the end of a row to a corner of the room or of a fixed item.
[[nodiscard]] std::vector<double> firsts_to_corners_m(const LayoutRequest& request);

// Length of all rows, from wall to wall.
[[nodiscard]] double length_of_rows_m(const LayoutRequest& request,
                                      const std::vector<double>& widths_m);

// Runs of panels over the field when rows have these widths, by row, then by x.
[[nodiscard]] std::vector<PanelRun> runs_of_rows(const LayoutRequest& request,
                                                 const std::vector<double>& widths_m);

// Where a wall in the room runs along the rows, one row ends at it with another first width: the
// widths that need the least length of rows, when that is less than balanced ones need. Neither
// the first nor the last row is below half a panel, or below the least width of a row. nullopt =
// nothing is gained.
[[nodiscard]] std::optional<std::vector<double>> shorter_widths_m(const LayoutRequest& request);

}  // namespace analysis::plan
