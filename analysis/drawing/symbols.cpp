#include "analysis/drawing/symbols.hpp"

#include <array>

namespace analysis::drawing {
namespace {

void draw_tick(Canvas& canvas, Point c, double d) {
  const std::array<Point, 3> tick{{{c.x - 0.24 * d, c.y + 0.02 * d},
                                   {c.x - 0.07 * d, c.y + 0.19 * d},
                                   {c.x + 0.25 * d, c.y - 0.18 * d}}};
  canvas.polyline(tick, Pen{kPaper, 0.12 * d, Dash::solid});
}

void draw_cross(Canvas& canvas, Point c, double d) {
  const double arm = 0.20 * d;
  const Pen pen{kPaper, 0.12 * d, Dash::solid};
  canvas.line({c.x - arm, c.y - arm}, {c.x + arm, c.y + arm}, pen);
  canvas.line({c.x - arm, c.y + arm}, {c.x + arm, c.y - arm}, pen);
}

void draw_diamond(Canvas& canvas, Point c, double d) {
  const double arm = 0.50 * d;
  const std::array<Point, 4> corners{
      {{c.x, c.y - arm}, {c.x + arm, c.y}, {c.x, c.y + arm}, {c.x - arm, c.y}}};
  canvas.fill_polygon(corners, kPaper);
  canvas.stroke_polygon(corners, Pen{kInk, 0.09 * d, Dash::solid});
  const TextStyle style{0.56 * d, Face::bold, Align::left, kInk};
  canvas.turned_text({c.x, c.y - 0.01 * d}, 0.0, "?", style);
}

}  // namespace

Colour colour_of(Symbol symbol) {
  switch (symbol) {
    case Symbol::disc_tick:
      return kMet;
    case Symbol::square_cross:
      return kAlarm;
    case Symbol::diamond_query:
      break;
  }
  return kInk;
}

void draw_symbol(Canvas& canvas, Symbol symbol, Point centre, double diameter) {
  const double side = 0.94 * diameter;  // looks as large as the disc
  switch (symbol) {
    case Symbol::disc_tick:
      canvas.fill_circle(centre, diameter / 2.0, kMet);
      draw_tick(canvas, centre, diameter);
      return;
    case Symbol::square_cross:
      canvas.fill_rect({centre.x - side / 2.0, centre.y - side / 2.0, side, side}, kAlarm);
      draw_cross(canvas, centre, diameter);
      return;
    case Symbol::diamond_query:
      draw_diamond(canvas, centre, diameter);
      return;
  }
}

}  // namespace analysis::drawing
