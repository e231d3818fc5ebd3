// What a canvas draws with: the few primitives that each kind of file has to know. Internal to the
// drawing folder. Thread contract: as Canvas.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "analysis/drawing/canvas.hpp"
#include "analysis/drawing/text_setter.hpp"

namespace analysis::drawing {

struct Segment {
  Point from;
  Point to;
};

class Ink {
 public:
  Ink() = default;
  Ink(const Ink&) = delete;
  Ink& operator=(const Ink&) = delete;
  virtual ~Ink() = default;

  virtual void next_page() = 0;
  virtual void fill_rect(const Rect& rect, Colour colour) = 0;
  virtual void stroke_rect(const Rect& rect, const Pen& pen) = 0;
  virtual void fill_circles(std::span<const Point> centres, double radius, Colour colour) = 0;
  virtual void stroke_circle(Point centre, double radius, const Pen& pen) = 0;
  virtual void fill_polygon(std::span<const Point> corners, Colour colour) = 0;
  virtual void stroke_path(std::span<const Point> points, bool closed, const Pen& pen) = 0;
  virtual void stroke_segments(std::span<const Segment> segments, const Pen& pen) = 0;
  virtual void begin_clip(const Rect& rect) = 0;
  virtual void end_clip() = 0;
  virtual TextExtent text(const TextSetter& setter, Point top_left, std::string_view text,
                          const TextStyle& style, double width) = 0;
  virtual void turned_text(const TextSetter& setter, Point centre, double degrees,
                           std::string_view text, const TextStyle& style) = 0;
  [[nodiscard]] virtual base::Result<std::string, DrawError> finish() = 0;
};

}  // namespace analysis::drawing
