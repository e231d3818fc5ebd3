// PDF, SVG and PNG through cairo; text in an SVG is outlines. Internal to the drawing folder.
#pragma once

#include <memory>

#include "analysis/drawing/ink/ink.hpp"

namespace analysis::drawing {

// Each surface_failed where cairo refuses the size.
[[nodiscard]] base::Result<std::unique_ptr<Ink>, DrawError> pdf_ink(Size page,
                                                                    const DocumentInfo& info);
[[nodiscard]] base::Result<std::unique_ptr<Ink>, DrawError> svg_ink(Size size);
[[nodiscard]] base::Result<std::unique_ptr<Ink>, DrawError> png_ink(Size size,
                                                                    double pixels_per_point);

}  // namespace analysis::drawing
