// Signs that differ by shape, so that they read without colour: a filled disc with a tick, a filled
// square with a cross, a hollow diamond with a question mark.
#pragma once

#include "analysis/drawing/canvas.hpp"

namespace analysis::drawing {

enum class Symbol : std::uint8_t { disc_tick, square_cross, diamond_query };

void draw_symbol(Canvas& canvas, Symbol symbol, Point centre, double diameter);
[[nodiscard]] Colour colour_of(Symbol symbol);

}  // namespace analysis::drawing
