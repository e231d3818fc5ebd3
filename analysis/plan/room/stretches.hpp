// What of a room lies in a band across it. Pure. Lengths as in outline.hpp.
#pragma once

#include <vector>

#include "analysis/plan/room/outline.hpp"

namespace analysis::plan {

// A connected piece of the region between two heights: how far it reaches in x.
struct Stretch {
  double low_x_m = 0.0;
  double high_x_m = 0.0;
};
// Within `clip`, by increasing low_x; empty where nothing of the region lies between the heights.
// O(corners^2).
[[nodiscard]] std::vector<Stretch> stretches_between(const Region& region, double low_y_m,
                                                     double high_y_m, const Bounds& clip);

}  // namespace analysis::plan
