// The lines along which a straightedge can lie on a grid of heights: rows, columns, diagonals, each
// unbroken by a height that is missing.
#pragma once

#include <vector>

#include "analysis/readiness/site/flatness.hpp"

namespace analysis::readiness {

struct GridLine {
  FlatnessDirection direction = FlatnessDirection::along_row;
  std::vector<std::size_t> cells;  // places in heights_mm
  std::vector<ProfilePoint> profile;
};

// Distance from one height to the next in a direction of the grid.
[[nodiscard]] base::Metres step_of(const HeightGrid& grid, FlatnessDirection direction);
// All with three heights or more, in the directions whose step is half the straightedge at most.
[[nodiscard]] std::vector<GridLine> lines_of(const HeightGrid& grid, base::Metres straightedge);

}  // namespace analysis::readiness
