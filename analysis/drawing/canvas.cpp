#include "analysis/drawing/canvas.hpp"

#include <cairo.h>
#include <hb.h>
#include <qrencode.h>

#include <cmath>
#include <utility>
#include <vector>

#include "analysis/drawing/ink/cairo_ink.hpp"
#include "analysis/drawing/ink/markup_ink.hpp"
#include "analysis/drawing/text_setter.hpp"

namespace analysis::drawing {

std::string_view text_of(DrawError error) {
  switch (error) {
    case DrawError::font_missing:
      return "the fonts DejaVu Sans (regular, bold) and DejaVu Sans Mono were not found: install "
             "the "
             "package fonts-dejavu-core";
    case DrawError::surface_failed:
      return "the page could not be drawn: cairo ran out of memory or the page size is impossible";
    case DrawError::too_tall:
      return "one text is taller than a whole page";
    case DrawError::not_encodable:
      return "the text is too long for a QR code";
  }
  return "unknown drawing error";
}

struct Canvas::Impl {
  Size size;
  TextSetter setter;
  std::unique_ptr<Ink> ink;
};

Canvas::Canvas(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Canvas::Canvas(Canvas&&) noexcept = default;
Canvas& Canvas::operator=(Canvas&&) noexcept = default;
Canvas::~Canvas() = default;

template <class MakeInk>
base::Result<Canvas, DrawError> Canvas::opened(Size size, MakeInk make_ink) {
  auto setter = TextSetter::create();
  if (!setter) {
    return base::Failure{setter.error()};
  }
  base::Result<std::unique_ptr<Ink>, DrawError> ink = make_ink();
  if (!ink) {
    return base::Failure{ink.error()};
  }
  return Canvas(
      std::make_unique<Impl>(Impl{size, std::move(setter).value(), std::move(ink).value()}));
}

base::Result<Canvas, DrawError> Canvas::pdf(Size page, const DocumentInfo& info) {
  return opened(page, [&] { return pdf_ink(page, info); });
}

base::Result<Canvas, DrawError> Canvas::svg(Size size) {
  return opened(size, [&] { return svg_ink(size); });
}

base::Result<Canvas, DrawError> Canvas::png(Size size, double pixels_per_point) {
  return opened(size, [&] { return png_ink(size, pixels_per_point); });
}

base::Result<Canvas, DrawError> Canvas::markup(Size size) {
  return opened(size,
                [&] { return base::Result<std::unique_ptr<Ink>, DrawError>(markup_ink(size)); });
}

Size Canvas::size() const { return impl_->size; }

void Canvas::next_page() { impl_->ink->next_page(); }

void Canvas::fill_rect(const Rect& rect, Colour colour) { impl_->ink->fill_rect(rect, colour); }

void Canvas::stroke_rect(const Rect& rect, const Pen& pen) { impl_->ink->stroke_rect(rect, pen); }

void Canvas::fill_circle(Point centre, double radius, Colour colour) {
  impl_->ink->fill_circles({&centre, 1}, radius, colour);
}

void Canvas::stroke_circle(Point centre, double radius, const Pen& pen) {
  impl_->ink->stroke_circle(centre, radius, pen);
}

void Canvas::line(Point from, Point to, const Pen& pen) {
  const Point both[] = {from, to};
  polyline(both, pen);
}

void Canvas::polyline(std::span<const Point> points, const Pen& pen) {
  impl_->ink->stroke_path(points, false, pen);
}

void Canvas::fill_polygon(std::span<const Point> corners, Colour colour) {
  impl_->ink->fill_polygon(corners, colour);
}

void Canvas::stroke_polygon(std::span<const Point> corners, const Pen& pen) {
  impl_->ink->stroke_path(corners, true, pen);
}

void Canvas::hatch(const Rect& rect, const Pen& pen, double spacing) {
  // Anchored to the page, so that neighbouring rectangles join without a seam.
  const double first = std::floor((rect.x + rect.y) / spacing);
  const double last = std::ceil((rect.right() + rect.bottom()) / spacing);
  std::vector<Segment> segments;
  for (double i = first; i <= last; i += 1.0) {
    const double sum = i * spacing;
    segments.push_back({{sum - rect.y, rect.y}, {sum - rect.bottom(), rect.bottom()}});
  }
  clipped(rect, [&] { impl_->ink->stroke_segments(segments, pen); });
}

void Canvas::stipple(const Rect& rect, Colour colour, double spacing) {
  std::vector<Point> centres;
  int row = 0;
  for (double y = rect.y + spacing / 2.0; y < rect.bottom(); y += spacing, ++row) {
    const double shift = row % 2 == 0 ? 0.0 : spacing / 2.0;
    for (double x = rect.x + shift; x < rect.right() + spacing; x += spacing) {
      centres.push_back({x, y});
    }
  }
  clipped(rect, [&] { impl_->ink->fill_circles(centres, spacing * 0.26, colour); });
}

void Canvas::begin_clip(const Rect& rect) { impl_->ink->begin_clip(rect); }

void Canvas::end_clip() { impl_->ink->end_clip(); }

TextExtent Canvas::measure(std::string_view text, const TextStyle& style, double width) const {
  return impl_->setter.measure(text, style, width);
}

TextExtent Canvas::text(Point top_left, std::string_view text, const TextStyle& style,
                        double width) {
  return impl_->ink->text(impl_->setter, top_left, text, style, width);
}

void Canvas::turned_text(Point centre, double degrees, std::string_view text,
                         const TextStyle& style) {
  impl_->ink->turned_text(impl_->setter, centre, degrees, text, style);
}

base::Result<std::string, DrawError> Canvas::finish() { return impl_->ink->finish(); }

base::Result<std::string, DrawError> drawing_versions() {
  const auto setter = TextSetter::create();
  if (!setter) {
    return base::Failure{setter.error()};
  }
  return std::string("cairo ") + cairo_version_string() + ", pango " + pango_version_string() +
         ", harfbuzz " + hb_version_string() + ", qrencode " + QRcode_APIVersionString() +
         ", DejaVu Sans " + setter.value().font_revision();
}

}  // namespace analysis::drawing
