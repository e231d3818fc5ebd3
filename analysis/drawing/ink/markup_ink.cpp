#include "analysis/drawing/ink/markup_ink.hpp"

#include <algorithm>
#include <cassert>

#include "analysis/drawing/axis.hpp"
#include "analysis/drawing/visible_text.hpp"

namespace analysis::drawing {
namespace {

// Hundredths of a point, without zeros at the end.
std::string number(double value) {
  std::string text = number_text(value, 2);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') {
    text.pop_back();
  }
  return text;
}

std::string attribute(const char* name, double value) {
  return std::string(" ") + name + "=\"" + number(value) + '"';
}

std::string place(Point at) { return attribute("x", at.x) + attribute("y", at.y); }

std::string box(const Rect& rect) {
  return place({rect.x, rect.y}) + attribute("width", rect.width) +
         attribute("height", rect.height);
}

const char* name_of(Colour colour) {
  const auto found = std::ranges::find(kPalette, colour, &NamedColour::colour);
  assert(found != kPalette.end());
  return found->name;
}

std::string filled_with(Colour colour) {
  return std::string(" class=\"f-") + name_of(colour) + '"';
}

std::string drawn_with(const Pen& pen) {
  std::string text =
      std::string(" class=\"s-") + name_of(pen.colour) + '"' + attribute("stroke-width", pen.width);
  if (pen.dash == Dash::dashed) {
    text += " stroke-dasharray=\"4 2.5\"";
  } else if (pen.dash == Dash::dotted) {
    text += " stroke-linecap=\"round\" stroke-dasharray=\"0 " + number(2.4 + pen.width) + '"';
  }
  return text;
}

std::string corners_from(std::span<const Point> points) {
  std::string text;
  for (const Point& point : points) {
    text += (text.empty() ? "" : " ") + number(point.x) + ',' + number(point.y);
  }
  return " points=\"" + text + '"';
}

const char* classes_of(Face face) {
  return face == Face::bold ? " b" : face == Face::mono ? " m" : "";
}

class MarkupInk final : public Ink {
 public:
  explicit MarkupInk(Size size)
      : markup_("<svg viewBox=\"0 0 " + number(size.width) + ' ' + number(size.height) +
                "\" aria-hidden=\"true\">") {}

  void next_page() override { assert(false); }

  void fill_rect(const Rect& rect, Colour colour) override {
    add("rect", box(rect) + filled_with(colour));
  }
  void stroke_rect(const Rect& rect, const Pen& pen) override {
    add("rect", box(rect) + drawn_with(pen));
  }
  void fill_circles(std::span<const Point> centres, double radius, Colour colour) override {
    // Each as two arcs of one path, which is shorter than as many elements.
    std::string path;
    const std::string r = number(radius);
    const std::string across = number(2.0 * radius);
    for (const Point& centre : centres) {
      path += 'M' + number(centre.x - radius) + ' ' + number(centre.y) + 'a' + r + ' ' + r +
              " 0 1 1 " + across + " 0a" + r + ' ' + r + " 0 1 1 -" + across + " 0";
    }
    add("path", " d=\"" + path + '"' + filled_with(colour));
  }
  void stroke_circle(Point centre, double radius, const Pen& pen) override {
    add("circle", attribute("cx", centre.x) + attribute("cy", centre.y) + attribute("r", radius) +
                      drawn_with(pen));
  }
  void fill_polygon(std::span<const Point> corners, Colour colour) override {
    add("polygon", corners_from(corners) + filled_with(colour));
  }
  void stroke_path(std::span<const Point> points, bool closed, const Pen& pen) override {
    add(closed ? "polygon" : "polyline", corners_from(points) + drawn_with(pen));
  }
  void stroke_segments(std::span<const Segment> segments, const Pen& pen) override {
    std::string path;
    for (const Segment& segment : segments) {
      path += 'M' + number(segment.from.x) + ' ' + number(segment.from.y) + 'L' +
              number(segment.to.x) + ' ' + number(segment.to.y);
    }
    add("path", " d=\"" + path + '"' + drawn_with(pen));
  }

  // An element inside clips by itself and needs no name that could occur twice in a document.
  void begin_clip(const Rect& rect) override {
    markup_ += "<svg" + box(rect) + " viewBox=\"" + number(rect.x) + ' ' + number(rect.y) + ' ' +
               number(rect.width) + ' ' + number(rect.height) + "\">";
  }
  void end_clip() override { markup_ += "</svg>"; }

  TextExtent text(const TextSetter& setter, Point top_left, std::string_view text,
                  const TextStyle& style, double width) override {
    for (const TextLine& line : setter.lines(text, style, width)) {
      add_line({top_left.x + line.left, top_left.y + line.baseline}, line, style, "");
    }
    return setter.measure(text, style, width);
  }

  void turned_text(const TextSetter& setter, Point centre, double degrees, std::string_view text,
                   const TextStyle& style) override {
    const TextExtent extent = setter.measure(text, style, kNoWrap);
    const std::string turned = " transform=\"translate(" + number(centre.x) + ' ' +
                               number(centre.y) + ") rotate(" + number(-degrees) + ")\"";
    for (const TextLine& line : setter.lines(text, style, kNoWrap)) {
      add_line({line.left - extent.width / 2.0, line.baseline - extent.height / 2.0}, line, style,
               turned);
    }
  }

  base::Result<std::string, DrawError> finish() override { return markup_ + "</svg>"; }

 private:
  void add(const char* element, const std::string& attributes) {
    markup_ += std::string("<") + element + attributes + "/>";
  }

  // The reader's font may be wider: the length that was measured is kept.
  void add_line(Point at, const TextLine& line, const TextStyle& style,
                const std::string& transform) {
    if (line.text.empty()) {
      return;
    }
    markup_ += "<text" + place(at) + attribute("font-size", style.size) +
               attribute("textLength", line.width) + " class=\"f-" + name_of(style.colour) +
               classes_of(style.face) + '"' + transform + '>' + markup_from_text(line.text) +
               "</text>";
  }

  std::string markup_;
};

}  // namespace

std::unique_ptr<Ink> markup_ink(Size size) { return std::make_unique<MarkupInk>(size); }

}  // namespace analysis::drawing
