// How much filler a floor takes, and what stands above what lies round it.
#pragma once

#include <optional>
#include <vector>

#include "analysis/readiness/site/grid_lines.hpp"

namespace analysis::readiness {

// What is added at each height so that no gap is above the limit, and nothing less would do:
// raising a point never lowers what a straightedge rests on, so the least such floor is reached
// from below. In mm, as the grid's heights; 0 where none was measured. `lines`: lines_of the grid.
[[nodiscard]] std::vector<double> least_fill_mm(const HeightGrid& grid,
                                                const std::vector<GridLine>& lines,
                                                const FlatnessLimit& limit);

// What is added up to the plane that lies nowhere below the floor and is nearest to it on average.
[[nodiscard]] std::vector<double> fill_to_high_plane_mm(const HeightGrid& grid);

// How far a height stands above (below: negative) the plane fitted by least squares to the heights
// round it within `reach`, itself left out; nullopt where too few lie round it for a plane.
[[nodiscard]] std::optional<double> rise_above_surroundings_mm(const HeightGrid& grid,
                                                               std::size_t cell,
                                                               base::Metres reach);

// Litres of a fill in mm, each height standing for one spacing by one spacing.
[[nodiscard]] double litres_of(const std::vector<double>& fill_mm, const HeightGrid& grid);

}  // namespace analysis::readiness
