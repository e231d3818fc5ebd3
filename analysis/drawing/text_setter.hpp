// Sets text with pango on a cairo context. Internal to this folder: includes pango's headers.
// Thread contract: one setter, one thread; each has its own font map.
#pragma once

#include <pango/pangocairo.h>

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/drawing/canvas.hpp"

namespace analysis::drawing {

struct ObjectRelease {
  void operator()(gpointer object) const { g_object_unref(object); }
};
template <class T>
using ObjectPtr = std::unique_ptr<T, ObjectRelease>;

// One line of a text that was laid out; from the text's top left corner.
struct TextLine {
  std::string text;
  double left = 0.0;
  double baseline = 0.0;
  double width = 0.0;
};

class TextSetter {
 public:
  // font_missing unless DejaVu Sans, its bold and DejaVu Sans Mono really resolve: pango draws
  // nothing without complaint when there is no font, and takes any other family silently.
  [[nodiscard]] static base::Result<TextSetter, DrawError> create();

  // Lays the text out; draws it with its top left corner at the context's current point.
  [[nodiscard]] TextExtent measure(std::string_view text, const TextStyle& style,
                                   double width) const;
  TextExtent show(cairo_t* context, std::string_view text, const TextStyle& style,
                  double width) const;

  // Where each line would be shown.
  [[nodiscard]] std::vector<TextLine> lines(std::string_view text, const TextStyle& style,
                                            double width) const;

  // Revision in the head table of DejaVu Sans, "2.37".
  [[nodiscard]] std::string font_revision() const;

 private:
  TextSetter(ObjectPtr<PangoFontMap> font_map, ObjectPtr<PangoContext> context)
      : font_map_(std::move(font_map)), context_(std::move(context)) {}
  [[nodiscard]] ObjectPtr<PangoFont> resolved(Face face) const;
  [[nodiscard]] ObjectPtr<PangoLayout> layout_from(std::string_view text, const TextStyle& style,
                                                   double width) const;

  ObjectPtr<PangoFontMap> font_map_;
  ObjectPtr<PangoContext> context_;
};

}  // namespace analysis::drawing
