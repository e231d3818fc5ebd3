#include "analysis/drawing/visible_text.hpp"

#include <glib.h>

#include <memory>

namespace analysis::drawing {
namespace {

struct GlibRelease {
  void operator()(char* text) const { g_free(text); }
};
using GlibText = std::unique_ptr<char, GlibRelease>;

constexpr const char* kReplacement = "\xEF\xBF\xBD";

bool is_shown_as_itself(gunichar c) {
  const bool control = (c < 0x20 && c != '\n' && c != '\t') || (c >= 0x7f && c <= 0x9f);
  const bool turns_order = (c >= 0x202a && c <= 0x202e) || (c >= 0x2066 && c <= 0x2069);
  const bool separates_lines = c == 0x2028 || c == 0x2029;
  return !control && !turns_order && !separates_lines;
}

}  // namespace

std::string visible_text(std::string_view text) {
  const GlibText valid(g_utf8_make_valid(text.data(), static_cast<gssize>(text.size())));
  std::string visible;
  for (const char* at = valid.get(); *at != '\0'; at = g_utf8_next_char(at)) {
    if (is_shown_as_itself(g_utf8_get_char(at))) {
      visible.append(at, static_cast<std::size_t>(g_utf8_next_char(at) - at));
    } else {
      visible += kReplacement;
    }
  }
  return visible;
}

std::string markup_from_text(std::string_view text) {
  std::string markup;
  for (const char c : visible_text(text)) {
    switch (c) {
      case '&':
        markup += "&amp;";
        break;
      case '<':
        markup += "&lt;";
        break;
      case '>':
        markup += "&gt;";
        break;
      case '"':
        markup += "&quot;";
        break;
      case '\'':
        markup += "&#39;";
        break;
      default:
        markup += c;
    }
  }
  return markup;
}

}  // namespace analysis::drawing
