#include "analysis/certificate/html/markup.hpp"

#include "analysis/drawing/visible_text.hpp"

namespace analysis::certificate {
namespace {

std::string opening(std::string_view name, const Attributes& attributes) {
  std::string text = "<" + std::string(name);
  for (const auto& [key, value] : attributes) {
    text += " " + std::string(key) + "=\"" + drawing::markup_from_text(value) + '"';
  }
  return text;
}

}  // namespace

std::string shown(std::string_view text) {
  std::string markup;
  for (const char c : drawing::markup_from_text(text)) {
    if (c == '\n') {
      markup += "<br/>";
    } else {
      markup += c;
    }
  }
  return markup;
}

std::string element(std::string_view name, const Attributes& attributes, std::string_view inner) {
  return opening(name, attributes) + ">" + std::string(inner) + "</" + std::string(name) + ">";
}

std::string element(std::string_view name, std::string_view inner) {
  return element(name, {}, inner);
}

std::string empty_element(std::string_view name, const Attributes& attributes) {
  return opening(name, attributes) + "/>";
}

}  // namespace analysis::certificate
