// Which piece each run of panels begins with, so that few panels are needed and end joints keep
// their distance. Pure and repeatable: the same runs give the same pieces.
//
// A run longer than a panel is one first piece, whole panels, one last piece. What a last piece
// leaves of its panel can only begin a run and what a first piece leaves can only end one, since a
// sawn end must lie at a wall. So the panels that are needed follow from the first pieces alone:
// whole ones, and for the cut ones a largest pairing of first with last pieces that fit one panel.
// Which run is laid earlier does not matter: the later one takes the rest.
#pragma once

#include <vector>

#include "analysis/plan/layout/panel_run.hpp"
#include "analysis/plan/layout/row_layout.hpp"

namespace analysis::plan {

// The best found, from a first guess, by simulated annealing with a fixed number of steps: first as
// many joints as can be at their distance, then the fewest panels, then the fewest short pieces.
// Never worse than the simple rule. REQUIRES: runs by row; panels of two least pieces or more.
[[nodiscard]] std::vector<double> starts_from(const std::vector<PanelRun>& runs,
                                              const RunRules& rules, LayoutEffort effort);

}  // namespace analysis::plan
