// A drawing surface in memory that becomes PDF, PNG or SVG bytes; text in the DejaVu fonts. All
// lengths in this folder are points (1/72 inch), x to the right and y down from the top left
// corner. Thread contract: a canvas is used by one thread; canvases share nothing. Font files are
// the only reads, nothing is written, no clock is read: the same calls give the same bytes.
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <string_view>

#include "analysis/base/result.hpp"
#include "analysis/base/time.hpp"
#include "analysis/drawing/palette.hpp"

namespace analysis::drawing {

enum class DrawError : std::uint8_t {
  font_missing = 1,    // DejaVu Sans, its bold or DejaVu Sans Mono did not resolve
  surface_failed = 2,  // cairo ran out of memory or was given an impossible size
  too_tall = 3,        // one block of text is taller than a whole page
  not_encodable = 4,   // too much text for a QR code
};
// One line for people; names the Debian package where one is missing.
[[nodiscard]] std::string_view text_of(DrawError error);

struct Point {
  double x = 0.0;
  double y = 0.0;
  bool operator==(const Point&) const = default;
};
struct Size {
  double width = 0.0;
  double height = 0.0;
};
struct Rect {
  double x = 0.0;
  double y = 0.0;
  double width = 0.0;
  double height = 0.0;
  [[nodiscard]] double right() const { return x + width; }
  [[nodiscard]] double bottom() const { return y + height; }
};

inline constexpr Size kA4{595.276, 841.890};  // ISO 216, 210 mm x 297 mm
inline constexpr Size kLetter{612.0, 792.0};  // ANSI/ASME Y14.1, 8.5 in x 11 in

enum class Dash : std::uint8_t { solid, dashed, dotted };
struct Pen {
  Colour colour = kInk;
  double width = 0.75;
  Dash dash = Dash::solid;
};

enum class Face : std::uint8_t { regular, bold, mono };
enum class Align : std::uint8_t { left, centre, right };
struct TextStyle {
  double size = 9.0;
  Face face = Face::regular;
  Align align = Align::left;
  Colour colour = kInk;
};
struct TextExtent {
  double width = 0.0;   // of the widest line
  double height = 0.0;  // of all lines
  int lines = 0;
};
inline constexpr double kNoWrap = -1.0;

// What a PDF says of itself. The two dates in it are both `created_at`.
struct DocumentInfo {
  std::string title;
  std::string subject;
  std::string keywords;
  std::string creator;
  base::UtcMicros created_at;
};

class Canvas {
 public:
  [[nodiscard]] static base::Result<Canvas, DrawError> pdf(Size page, const DocumentInfo& info);
  [[nodiscard]] static base::Result<Canvas, DrawError> svg(Size size);
  // One <svg> element for an HTML document: text stays text, colours are the classes "f-<name>" to
  // fill and "s-<name>" to draw with, faces "b" and "m" (palette.hpp; the document gives their
  // style). No ids, no references. Only colours of the palette.
  [[nodiscard]] static base::Result<Canvas, DrawError> markup(Size size);
  // White background; the image is size * pixels_per_point pixels, rounded up.
  [[nodiscard]] static base::Result<Canvas, DrawError> png(Size size, double pixels_per_point);

  Canvas(Canvas&&) noexcept;
  Canvas& operator=(Canvas&&) noexcept;
  ~Canvas();

  [[nodiscard]] Size size() const;
  // Ends the page; what follows goes on a new one of the same size. REQUIRES: made by pdf().
  void next_page();

  void fill_rect(const Rect& rect, Colour colour);
  void stroke_rect(const Rect& rect, const Pen& pen);
  void fill_circle(Point centre, double radius, Colour colour);
  void stroke_circle(Point centre, double radius, const Pen& pen);
  void line(Point from, Point to, const Pen& pen);
  // One or more points; a single one draws nothing.
  void polyline(std::span<const Point> points, const Pen& pen);
  void fill_polygon(std::span<const Point> corners, Colour colour);
  void stroke_polygon(std::span<const Point> corners, const Pen& pen);
  // Lines at 45 degrees, `spacing` apart, clipped to the rectangle.
  void hatch(const Rect& rect, const Pen& pen, double spacing);
  // Dots in staggered rows `spacing` apart, clipped to the rectangle.
  void stipple(const Rect& rect, Colour colour, double spacing);
  // Clips what `draw` does to the rectangle.
  template <class Draw>
  void clipped(const Rect& rect, Draw draw) {
    begin_clip(rect);
    draw();
    end_clip();
  }

  // Wraps at `width`, inside words too where a word is longer; kNoWrap keeps one line. Line ends in
  // the text are kept. Bytes that are not UTF-8 show as the replacement character.
  [[nodiscard]] TextExtent measure(std::string_view text, const TextStyle& style,
                                   double width) const;
  TextExtent text(Point top_left, std::string_view text, const TextStyle& style, double width);
  // One line, centred on a point, turned anticlockwise.
  void turned_text(Point centre, double degrees, std::string_view text, const TextStyle& style);

  // The finished bytes. REQUIRES: called once, nothing after it.
  [[nodiscard]] base::Result<std::string, DrawError> finish();

 private:
  struct Impl;
  template <class MakeInk>
  [[nodiscard]] static base::Result<Canvas, DrawError> opened(Size size, MakeInk make_ink);
  explicit Canvas(std::unique_ptr<Impl> impl);
  void begin_clip(const Rect& rect);
  void end_clip();
  std::unique_ptr<Impl> impl_;
};

// "cairo 1.16.0, pango 1.50.12, harfbuzz 6.0.0, qrencode 4.1.1, DejaVu Sans 2.37": what the bytes
// of a page depend on besides its facts.
[[nodiscard]] base::Result<std::string, DrawError> drawing_versions();

}  // namespace analysis::drawing
