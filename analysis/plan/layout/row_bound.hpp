// The fewest panels that straight rows can need on a floor: what a layout is measured against.
// Pure.
#pragma once

#include "analysis/plan/layout/row_layout.hpp"

namespace analysis::plan {

// No layout of rows along x, each but the first and last as wide as a panel, needs fewer panels,
// where strips that are ripped off are not used again.
//
// Why: a row takes its length from wall to wall out of panels, and no panel gives more than its own
// length. So panels >= the length of all rows / the length of a panel, rounded up. That length
// depends on the first width alone. It changes its course only where the end of a row comes to a
// corner, or to where a wall meets a side of the field; between two such widths each end of a run
// is the outermost of points that move evenly, so that the length is a convex function. Its least
// value lies at one of those widths, at the narrowest first or last row that the rules allow, or,
// where walls are slanted, between two of them, where it is searched for. Saw cuts, end joints and
// least pieces are left out: the fewest panels that a layout can reach may be more.
[[nodiscard]] int least_panels_for(const LayoutRequest& request);

}  // namespace analysis::plan
