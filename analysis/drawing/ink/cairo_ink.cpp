#include "analysis/drawing/ink/cairo_ink.hpp"

#include <cairo-pdf.h>
#include <cairo-svg.h>

#include <cmath>
#include <new>
#include <numbers>
#include <utility>

#include "analysis/drawing/visible_text.hpp"

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
  cairo_new_sub_path(context);
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

enum class Kind : std::uint8_t { pdf, svg, png };

class CairoInk final : public Ink {
 public:
  // The surface writes into `bytes` until it is finished.
  CairoInk(Kind kind, std::unique_ptr<std::string> bytes, SurfacePtr surface, ContextPtr context)
      : kind_(kind),
        bytes_(std::move(bytes)),
        surface_(std::move(surface)),
        context_(std::move(context)) {}

  void next_page() override { cairo_show_page(context_.get()); }

  void fill_rect(const Rect& rect, Colour colour) override {
    use_colour(context_.get(), colour);
    add_rect(rect);
    cairo_fill(context_.get());
  }

  void stroke_rect(const Rect& rect, const Pen& pen) override {
    use_pen(context_.get(), pen);
    add_rect(rect);
    cairo_stroke(context_.get());
  }

  void fill_circles(std::span<const Point> centres, double radius, Colour colour) override {
    use_colour(context_.get(), colour);
    cairo_new_path(context_.get());
    for (const Point& centre : centres) {
      add_circle(context_.get(), centre, radius);
    }
    cairo_fill(context_.get());
  }

  void stroke_circle(Point centre, double radius, const Pen& pen) override {
    use_pen(context_.get(), pen);
    cairo_new_path(context_.get());
    add_circle(context_.get(), centre, radius);
    cairo_stroke(context_.get());
  }

  void fill_polygon(std::span<const Point> corners, Colour colour) override {
    use_colour(context_.get(), colour);
    add_path(context_.get(), corners);
    cairo_fill(context_.get());
  }

  void stroke_path(std::span<const Point> points, bool closed, const Pen& pen) override {
    use_pen(context_.get(), pen);
    add_path(context_.get(), points);
    if (closed) {
      cairo_close_path(context_.get());
    }
    cairo_stroke(context_.get());
  }

  void stroke_segments(std::span<const Segment> segments, const Pen& pen) override {
    use_pen(context_.get(), pen);
    cairo_new_path(context_.get());
    for (const Segment& segment : segments) {
      cairo_move_to(context_.get(), segment.from.x, segment.from.y);
      cairo_line_to(context_.get(), segment.to.x, segment.to.y);
    }
    cairo_stroke(context_.get());
  }

  void begin_clip(const Rect& rect) override {
    cairo_save(context_.get());
    add_rect(rect);
    cairo_clip(context_.get());
  }

  void end_clip() override { cairo_restore(context_.get()); }

  TextExtent text(const TextSetter& setter, Point top_left, std::string_view text,
                  const TextStyle& style, double width) override {
    cairo_move_to(context_.get(), top_left.x, top_left.y);
    return setter.show(context_.get(), text, style, width);
  }

  void turned_text(const TextSetter& setter, Point centre, double degrees, std::string_view text,
                   const TextStyle& style) override {
    const TextExtent extent = setter.measure(text, style, kNoWrap);
    cairo_save(context_.get());
    cairo_translate(context_.get(), centre.x, centre.y);
    cairo_rotate(context_.get(), -degrees * std::numbers::pi / 180.0);
    cairo_move_to(context_.get(), -extent.width / 2.0, -extent.height / 2.0);
    setter.show(context_.get(), text, style, kNoWrap);
    cairo_restore(context_.get());
  }

  base::Result<std::string, DrawError> finish() override {
    bool good = cairo_status(context_.get()) == CAIRO_STATUS_SUCCESS &&
                cairo_surface_status(surface_.get()) == CAIRO_STATUS_SUCCESS;
    if (good && kind_ == Kind::png) {
      good = cairo_surface_write_to_png_stream(surface_.get(), append_bytes, bytes_.get()) ==
             CAIRO_STATUS_SUCCESS;
    }
    context_.reset();
    cairo_surface_finish(surface_.get());
    good = good && cairo_surface_status(surface_.get()) == CAIRO_STATUS_SUCCESS;
    if (!good) {
      return base::Failure{DrawError::surface_failed};
    }
    return kind_ == Kind::svg ? without_surface_number(*bytes_) : std::move(*bytes_);
  }

 private:
  void add_rect(const Rect& rect) {
    cairo_new_path(context_.get());
    cairo_rectangle(context_.get(), rect.x, rect.y, rect.width, rect.height);
  }

  Kind kind_;
  std::unique_ptr<std::string> bytes_;
  SurfacePtr surface_;
  ContextPtr context_;
};

using MadeInk = base::Result<std::unique_ptr<Ink>, DrawError>;

// `prepare` is called with the context where all is well.
template <class MakeSurface, class Prepare>
MadeInk ink_from(Kind kind, MakeSurface make_surface, Prepare prepare) {
  auto bytes = std::make_unique<std::string>();
  SurfacePtr surface(make_surface(bytes.get()));
  ContextPtr context(cairo_create(surface.get()));
  if (cairo_status(context.get()) != CAIRO_STATUS_SUCCESS) {
    return base::Failure{DrawError::surface_failed};
  }
  prepare(context.get());
  return std::unique_ptr<Ink>(
      std::make_unique<CairoInk>(kind, std::move(bytes), std::move(surface), std::move(context)));
}

void nothing_to_prepare(cairo_t*) {}

}  // namespace

base::Result<std::unique_ptr<Ink>, DrawError> pdf_ink(Size page, const DocumentInfo& info) {
  const std::string created_at = base::rfc3339_from_utc(info.created_at);
  const auto make = [&](std::string* bytes) {
    cairo_surface_t* surface =
        cairo_pdf_surface_create_for_stream(append_bytes, bytes, page.width, page.height);
    const auto say = [surface](cairo_pdf_metadata_t key, const std::string& value) {
      if (!value.empty()) {
        cairo_pdf_surface_set_metadata(surface, key, visible_text(value).c_str());
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
  };
  return ink_from(Kind::pdf, make, nothing_to_prepare);
}

base::Result<std::unique_ptr<Ink>, DrawError> svg_ink(Size size) {
  const auto make = [size](std::string* bytes) {
    return cairo_svg_surface_create_for_stream(append_bytes, bytes, size.width, size.height);
  };
  return ink_from(Kind::svg, make, nothing_to_prepare);
}

base::Result<std::unique_ptr<Ink>, DrawError> png_ink(Size size, double pixels_per_point) {
  const auto make = [&](std::string*) {
    return cairo_image_surface_create(CAIRO_FORMAT_RGB24,
                                      static_cast<int>(std::ceil(size.width * pixels_per_point)),
                                      static_cast<int>(std::ceil(size.height * pixels_per_point)));
  };
  return ink_from(Kind::png, make, [&](cairo_t* context) {
    use_colour(context, kPaper);
    cairo_paint(context);
    cairo_scale(context, pixels_per_point, pixels_per_point);
  });
}

}  // namespace analysis::drawing
