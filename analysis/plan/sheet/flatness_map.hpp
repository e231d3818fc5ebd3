// A grid of heights as a drawing: the gap under a straightedge at each, where to grind and to fill.
// Readable in black and white.
#pragma once

#include <string>

#include "analysis/base/result.hpp"
#include "analysis/drawing/canvas.hpp"
#include "analysis/readiness/site/flatness.hpp"

namespace analysis::plan {

// SVG, first row at the top. REQUIRES: `result` is of this grid and limit.
[[nodiscard]] base::Result<std::string, drawing::DrawError> flatness_map_svg(
    const readiness::FlatnessResult& result, const readiness::HeightGrid& grid,
    const readiness::FlatnessLimit& limit);

}  // namespace analysis::plan
