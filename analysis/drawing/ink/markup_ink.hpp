// One <svg> element for a place inside an HTML document. Internal to the drawing folder.
#pragma once

#include <memory>

#include "analysis/drawing/ink/ink.hpp"

namespace analysis::drawing {

[[nodiscard]] std::unique_ptr<Ink> markup_ink(Size size);

}  // namespace analysis::drawing
