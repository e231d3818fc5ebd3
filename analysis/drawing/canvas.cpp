#include "analysis/drawing/canvas.hpp"

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <hb.h>
#include <qrencode.h>

#include <cassert>
#include <cmath>
#include <new>
#include <numbers>
#include <optional>

#include "analysis/drawing/text_setter.hpp"

namespace analysis::drawing {
namespace {

struct SurfaceRelease {
  void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
};
struct ContextRelease {
  void operator()(cairo_t* context) const { cairo_destroy(context); }
};
using SurfacePtr = std::unique_ptr<cairo_surface_t, SurfaceRelease>;
using ContextPtr = std::unique_ptr<cairo_t, ContextRelease>;

// Cairo is C: an exception must not pass through it.
cairo_status_t append_bytes(void* closure, const unsigned char* data, unsigned int length) {
  try {
    static_cast<std::string*>(closure)->append(reinterpret_cast<const char*>(data), length);
  } catch (const std::bad_alloc&) {
    return CAIRO_STATUS_NO_MEMORY;
  }
  return CAIRO_STATUS_SUCCESS;
}

void use_pen(cairo_t* context, const Pen& pen) {
  cairo_set_source_rgb(context, pen.colour.red, pen.colour.green, pen.colour.blue);
  cairo_set_line_width(context, pen.width);
  cairo_set_line_join(context, CAIRO_LINE_JOIN_ROUND);
  cairo_set_line_cap(context,
                     pen.dash == Dash::dotted ? CAIRO_LINE_CAP_ROUND : CAIRO_LINE_CAP_BUTT);
  const double dashed[] = {4.0, 2.5};
  const double dotted[] = {0.0, 2.4 + pen.width};
  switch (pen.dash) {
    case Dash::solid:
      cairo_set_dash(context, nullptr, 0, 0.0);
      break;
    case Dash::dashed:
      cairo_set_dash(context, dashed, 2, 0.0);
      break;
    case Dash::dotted:
      cairo_set_dash(context, dotted, 2, 0.0);
      break;
  }
}

void use_colour(cairo_t* context, Colour colour) {
  cairo_set_source_rgb(context, colour.red, colour.green, colour.blue);
}

void add_path(cairo_t* context, std::span<const Point> points) {
  cairo_new_path(context);
  for (const Point& point : points) {
    cairo_line_to(context, point.x, point.y);
  }
}

void add_circle(cairo_t* context, Point centre, double radius) {
  cairo_new_path(context);
  cairo_arc(context, centre.x, centre.y, radius, 0.0, 2.0 * std::numbers::pi);
}

// Cairo numbers the surfaces of a process, so the id of an SVG's outer group would depend on what
// was drawn before. Text is outlines here, so the name occurs in ids only.
std::string without_surface_number(const std::string& svg) {
  const std::string_view start = "<g id=\"surface";
  const std::size_t found = svg.find(start);
  if (found == std::string::npos) {
    return svg;
  }
  const std::size_t digits = found + start.size();
  return svg.substr(0, digits) + svg.substr(svg.find('"', digits));
}

}  // namespace

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

enum class Canvas::Kind : std::uint8_t { pdf, svg, png };

struct Canvas::Impl {
  Kind kind;
  Size size;
  TextSetter setter;
  // The surface writes into `bytes` until it is finished, so it must be destroyed first.
  std::unique_ptr<std::string> bytes;
  SurfacePtr surface;
  ContextPtr context;

  [[nodiscard]] bool good() const {
    return cairo_status(context.get()) == CAIRO_STATUS_SUCCESS &&
           cairo_surface_status(surface.get()) == CAIRO_STATUS_SUCCESS;
  }
};

Canvas::Canvas(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Canvas::Canvas(Canvas&&) noexcept = default;
Canvas& Canvas::operator=(Canvas&&) noexcept = default;
Canvas::~Canvas() = default;

template <class MakeSurface>
base::Result<Canvas, DrawError> Canvas::opened(Kind kind, Size size, MakeSurface make_surface) {
  auto setter = TextSetter::create();
  if (!setter) {
    return base::Failure{setter.error()};
  }
  auto bytes = std::make_unique<std::string>();
  SurfacePtr surface(make_surface(bytes.get()));
  ContextPtr context(cairo_create(surface.get()));
  if (cairo_status(context.get()) != CAIRO_STATUS_SUCCESS) {
    return base::Failure{DrawError::surface_failed};
  }
  return Canvas(std::make_unique<Impl>(Impl{kind, size, std::move(setter).value(), std::move(bytes),
                                            std::move(surface), std::move(context)}));
}

base::Result<Canvas, DrawError> Canvas::pdf(Size page, const DocumentInfo& info) {
  const std::string created_at = base::rfc3339_from_utc(info.created_at);
  return opened(Kind::pdf, page, [&](std::string* bytes) {
    cairo_surface_t* surface =
        cairo_pdf_surface_create_for_stream(append_bytes, bytes, page.width, page.height);
    const auto say = [surface](cairo_pdf_metadata_t key, const std::string& value) {
      if (!value.empty()) {
        cairo_pdf_surface_set_metadata(surface, key, valid_utf8(value).c_str());
      }
    };
    say(CAIRO_PDF_METADATA_TITLE, info.title);
    say(CAIRO_PDF_METADATA_SUBJECT, info.subject);
    say(CAIRO_PDF_METADATA_KEYWORDS, info.keywords);
    say(CAIRO_PDF_METADATA_CREATOR, info.creator);
    // Without both dates cairo puts in the time of day, and the bytes would differ each time.
    say(CAIRO_PDF_METADATA_CREATE_DATE, created_at);
    say(CAIRO_PDF_METADATA_MOD_DATE, created_at);
    return surface;
  });
}

base::Result<Canvas, DrawError> Canvas::svg(Size size) {
  return opened(Kind::svg, size, [&](std::string* bytes) {
    return cairo_svg_surface_create_for_stream(append_bytes, bytes, size.width, size.height);
  });
}

base::Result<Canvas, DrawError> Canvas::png(Size size, double pixels_per_point) {
  auto made = opened(Kind::png, size, [&](std::string*) {
    return cairo_image_surface_create(CAIRO_FORMAT_RGB24,
                                      static_cast<int>(std::ceil(size.width * pixels_per_point)),
                                      static_cast<int>(std::ceil(size.height * pixels_per_point)));
  });
  if (made) {
    cairo_t* context = made.value().impl_->context.get();
    use_colour(context, kPaper);
    cairo_paint(context);
    cairo_scale(context, pixels_per_point, pixels_per_point);
  }
  return made;
}

Size Canvas::size() const { return impl_->size; }

void Canvas::next_page() {
  assert(impl_->kind == Kind::pdf);
  cairo_show_page(impl_->context.get());
}

void Canvas::fill_rect(const Rect& rect, Colour colour) {
  cairo_t* context = impl_->context.get();
  use_colour(context, colour);
  cairo_new_path(context);
  cairo_rectangle(context, rect.x, rect.y, rect.width, rect.height);
  cairo_fill(context);
}

void Canvas::stroke_rect(const Rect& rect, const Pen& pen) {
  cairo_t* context = impl_->context.get();
  use_pen(context, pen);
  cairo_new_path(context);
  cairo_rectangle(context, rect.x, rect.y, rect.width, rect.height);
  cairo_stroke(context);
}

void Canvas::fill_circle(Point centre, double radius, Colour colour) {
  cairo_t* context = impl_->context.get();
  use_colour(context, colour);
  add_circle(context, centre, radius);
  cairo_fill(context);
}

void Canvas::stroke_circle(Point centre, double radius, const Pen& pen) {
  cairo_t* context = impl_->context.get();
  use_pen(context, pen);
  add_circle(context, centre, radius);
  cairo_stroke(context);
}

void Canvas::line(Point from, Point to, const Pen& pen) {
  const Point both[] = {from, to};
  polyline(both, pen);
}

void Canvas::polyline(std::span<const Point> points, const Pen& pen) {
  use_pen(impl_->context.get(), pen);
  add_path(impl_->context.get(), points);
  cairo_stroke(impl_->context.get());
}

void Canvas::fill_polygon(std::span<const Point> corners, Colour colour) {
  use_colour(impl_->context.get(), colour);
  add_path(impl_->context.get(), corners);
  cairo_fill(impl_->context.get());
}

void Canvas::stroke_polygon(std::span<const Point> corners, const Pen& pen) {
  use_pen(impl_->context.get(), pen);
  add_path(impl_->context.get(), corners);
  cairo_close_path(impl_->context.get());
  cairo_stroke(impl_->context.get());
}

void Canvas::hatch(const Rect& rect, const Pen& pen, double spacing) {
  cairo_t* context = impl_->context.get();
  clipped(rect, [&] {
    use_pen(context, pen);
    cairo_new_path(context);
    // Anchored to the page, so that neighbouring rectangles join without a seam.
    const double first = std::floor((rect.x + rect.y) / spacing);
    const double last = std::ceil((rect.right() + rect.bottom()) / spacing);
    for (double i = first; i <= last; i += 1.0) {
      const double sum = i * spacing;
      cairo_move_to(context, sum - rect.y, rect.y);
      cairo_line_to(context, sum - rect.bottom(), rect.bottom());
    }
    cairo_stroke(context);
  });
}

void Canvas::stipple(const Rect& rect, Colour colour, double spacing) {
  cairo_t* context = impl_->context.get();
  clipped(rect, [&] {
    use_colour(context, colour);
    cairo_new_path(context);
    const double radius = spacing * 0.26;
    int row = 0;
    for (double y = rect.y + spacing / 2.0; y < rect.bottom(); y += spacing, ++row) {
      const double shift = row % 2 == 0 ? 0.0 : spacing / 2.0;
      for (double x = rect.x + shift; x < rect.right() + spacing; x += spacing) {
        cairo_new_sub_path(context);
        cairo_arc(context, x, y, radius, 0.0, 2.0 * std::numbers::pi);
      }
    }
    cairo_fill(context);
  });
}

void Canvas::begin_clip(const Rect& rect) {
  cairo_save(impl_->context.get());
  cairo_new_path(impl_->context.get());
  cairo_rectangle(impl_->context.get(), rect.x, rect.y, rect.width, rect.height);
  cairo_clip(impl_->context.get());
}

void Canvas::end_clip() { cairo_restore(impl_->context.get()); }

TextExtent Canvas::measure(std::string_view text, const TextStyle& style, double width) const {
  return impl_->setter.measure(text, style, width);
}

TextExtent Canvas::text(Point top_left, std::string_view text, const TextStyle& style,
                        double width) {
  cairo_move_to(impl_->context.get(), top_left.x, top_left.y);
  return impl_->setter.show(impl_->context.get(), text, style, width);
}

void Canvas::turned_text(Point centre, double degrees, std::string_view text,
                         const TextStyle& style) {
  cairo_t* context = impl_->context.get();
  const TextExtent extent = measure(text, style, kNoWrap);
  cairo_save(context);
  cairo_translate(context, centre.x, centre.y);
  cairo_rotate(context, -degrees * std::numbers::pi / 180.0);
  cairo_move_to(context, -extent.width / 2.0, -extent.height / 2.0);
  impl_->setter.show(context, text, style, kNoWrap);
  cairo_restore(context);
}

base::Result<std::string, DrawError> Canvas::finish() {
  bool good = impl_->good();
  if (good && impl_->kind == Kind::png) {
    good = cairo_surface_write_to_png_stream(impl_->surface.get(), append_bytes,
                                             impl_->bytes.get()) == CAIRO_STATUS_SUCCESS;
  }
  impl_->context.reset();
  cairo_surface_finish(impl_->surface.get());
  good = good && cairo_surface_status(impl_->surface.get()) == CAIRO_STATUS_SUCCESS;
  if (!good) {
    return base::Failure{DrawError::surface_failed};
  }
  return impl_->kind == Kind::svg ? without_surface_number(*impl_->bytes)
                                  : std::move(*impl_->bytes);
}

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
