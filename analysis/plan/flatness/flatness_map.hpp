// A grid of heights as a drawing: the gap under a straightedge at each, where to grind and to fill.
// Readable in black and white.
#pragma once

#include <string>

#include "analysis/base/result.hpp"
#include "analysis/base/time.hpp"
#include "analysis/drawing/canvas.hpp"
#include "analysis/plan/flatness/flatness_texts.hpp"

namespace analysis::plan {

struct FlatnessMap {
  const readiness::FlatnessResult& result;  // of this grid and limit
  const readiness::HeightGrid& grid;
  FlatnessWords words;
  std::string room;  // its name
  base::UtcMicros seen_at;
};
// SVG, first row at the top; says whose, of when, in which unit and by which limit.
[[nodiscard]] base::Result<std::string, drawing::DrawError> flatness_map_svg(
    const FlatnessMap& map);

}  // namespace analysis::plan
