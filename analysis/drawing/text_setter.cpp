#include "analysis/drawing/text_setter.hpp"

#include <hb.h>

#include <cstdint>

#include "analysis/drawing/axis.hpp"
#include "analysis/drawing/visible_text.hpp"

namespace analysis::drawing {
namespace {

struct FontDescriptionRelease {
  void operator()(PangoFontDescription* description) const {
    pango_font_description_free(description);
  }
};
using FontDescriptionPtr = std::unique_ptr<PangoFontDescription, FontDescriptionRelease>;

constexpr double kRevisionTextSize = 9.0;

const char* family_of(Face face) { return face == Face::mono ? "DejaVu Sans Mono" : "DejaVu Sans"; }

FontDescriptionPtr description_from(Face face, double size) {
  FontDescriptionPtr description(pango_font_description_new());
  pango_font_description_set_family_static(description.get(), family_of(face));
  pango_font_description_set_weight(description.get(),
                                    face == Face::bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
  pango_font_description_set_absolute_size(description.get(), size * PANGO_SCALE);
  return description;
}

PangoAlignment alignment_from(Align align) {
  switch (align) {
    case Align::centre:
      return PANGO_ALIGN_CENTER;
    case Align::right:
      return PANGO_ALIGN_RIGHT;
    case Align::left:
      break;
  }
  return PANGO_ALIGN_LEFT;
}

// Text must come out the same whatever the machine's settings for screens and languages are.
void fix_rendering(PangoContext* context) {
  cairo_font_options_t* options = cairo_font_options_create();
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
  pango_cairo_context_set_font_options(context, options);
  cairo_font_options_destroy(options);
  pango_context_set_round_glyph_positions(context, FALSE);
  pango_context_set_language(context, pango_language_from_string("en"));
  pango_context_set_base_dir(context, PANGO_DIRECTION_WEAK_LTR);
}

TextExtent extent_of(PangoLayout* layout) {
  PangoRectangle logical{};
  pango_layout_get_extents(layout, nullptr, &logical);
  return TextExtent{static_cast<double>(logical.width) / PANGO_SCALE,
                    static_cast<double>(logical.height) / PANGO_SCALE,
                    pango_layout_get_line_count(layout)};
}

}  // namespace

base::Result<TextSetter, DrawError> TextSetter::create() {
  ObjectPtr<PangoFontMap> font_map(pango_cairo_font_map_new());
  if (!font_map) {
    return base::Failure{DrawError::font_missing};
  }
  pango_cairo_font_map_set_resolution(PANGO_CAIRO_FONT_MAP(font_map.get()), 72.0);
  ObjectPtr<PangoContext> context(pango_font_map_create_context(font_map.get()));
  fix_rendering(context.get());
  TextSetter setter(std::move(font_map), std::move(context));
  for (const Face face : {Face::regular, Face::bold, Face::mono}) {
    if (!setter.resolved(face)) {
      return base::Failure{DrawError::font_missing};
    }
  }
  return setter;
}

ObjectPtr<PangoFont> TextSetter::resolved(Face face) const {
  const FontDescriptionPtr wanted = description_from(face, kRevisionTextSize);
  ObjectPtr<PangoFont> font(
      pango_font_map_load_font(font_map_.get(), context_.get(), wanted.get()));
  if (!font) {
    return nullptr;
  }
  const FontDescriptionPtr found(pango_font_describe(font.get()));
  const char* family = pango_font_description_get_family(found.get());
  const bool weight_found = pango_font_description_get_weight(found.get()) ==
                            pango_font_description_get_weight(wanted.get());
  if (family == nullptr || std::string_view(family) != family_of(face) || !weight_found) {
    return nullptr;
  }
  return font;
}

ObjectPtr<PangoLayout> TextSetter::layout_from(std::string_view text, const TextStyle& style,
                                               double width) const {
  ObjectPtr<PangoLayout> layout(pango_layout_new(context_.get()));
  const FontDescriptionPtr description = description_from(style.face, style.size);
  pango_layout_set_font_description(layout.get(), description.get());
  pango_layout_set_alignment(layout.get(), alignment_from(style.align));
  if (width >= 0.0) {
    pango_layout_set_width(layout.get(), static_cast<int>(width * PANGO_SCALE));
    pango_layout_set_wrap(layout.get(), PANGO_WRAP_WORD_CHAR);
  }
  // Pango would put a hyphen where it breaks inside a word; in a digest that is a false character.
  PangoAttrList* attributes = pango_attr_list_new();
  pango_attr_list_insert(attributes, pango_attr_insert_hyphens_new(FALSE));
  pango_layout_set_attributes(layout.get(), attributes);
  pango_attr_list_unref(attributes);
  const std::string visible = visible_text(text);
  pango_layout_set_text(layout.get(), visible.c_str(), -1);
  return layout;
}

TextExtent TextSetter::measure(std::string_view text, const TextStyle& style, double width) const {
  const ObjectPtr<PangoLayout> layout = layout_from(text, style, width);
  return extent_of(layout.get());
}

TextExtent TextSetter::show(cairo_t* context, std::string_view text, const TextStyle& style,
                            double width) const {
  const ObjectPtr<PangoLayout> layout = layout_from(text, style, width);
  cairo_set_source_rgb(context, style.colour.red, style.colour.green, style.colour.blue);
  pango_cairo_show_layout(context, layout.get());
  return extent_of(layout.get());
}

std::vector<TextLine> TextSetter::lines(std::string_view text, const TextStyle& style,
                                        double width) const {
  const ObjectPtr<PangoLayout> layout = layout_from(text, style, width);
  const std::string_view laid_out = pango_layout_get_text(layout.get());
  const auto points = [](int units) { return static_cast<double>(units) / PANGO_SCALE; };
  std::vector<TextLine> lines;
  PangoLayoutIter* at = pango_layout_get_iter(layout.get());
  do {
    const PangoLayoutLine* line = pango_layout_iter_get_line_readonly(at);
    PangoRectangle logical{};
    pango_layout_iter_get_line_extents(at, nullptr, &logical);
    lines.push_back({std::string(laid_out.substr(static_cast<std::size_t>(line->start_index),
                                                 static_cast<std::size_t>(line->length))),
                     points(logical.x), points(pango_layout_iter_get_baseline(at)),
                     points(logical.width)});
  } while (pango_layout_iter_next_line(at));
  pango_layout_iter_free(at);
  return lines;
}

// Source: OpenType 1.9, table "head": fontRevision is a 16.16 fixed-point number at byte 4.
std::string TextSetter::font_revision() const {
  const ObjectPtr<PangoFont> font = resolved(Face::regular);
  hb_blob_t* head = hb_face_reference_table(hb_font_get_face(pango_font_get_hb_font(font.get())),
                                            HB_TAG('h', 'e', 'a', 'd'));
  unsigned int length = 0;
  const auto* bytes = reinterpret_cast<const std::uint8_t*>(hb_blob_get_data(head, &length));
  std::string revision = "?";
  if (length >= 8) {
    const std::uint32_t fixed = (std::uint32_t{bytes[4]} << 24U) |
                                (std::uint32_t{bytes[5]} << 16U) | (std::uint32_t{bytes[6]} << 8U) |
                                std::uint32_t{bytes[7]};
    revision = number_text(static_cast<double>(fixed) / 65536.0, 2);
  }
  hb_blob_destroy(head);
  return revision;
}

}  // namespace analysis::drawing
