#include "logger/web/page/template_text.hpp"

#include <algorithm>
#include <cassert>
#include <map>
#include <nlohmann/json.hpp>

#include "analysis/drawing/visible_text.hpp"
#include "logger/web/page/embedded.hpp"

namespace logger::web {
namespace {

const std::map<std::string, std::string, std::less<>>& texts() {
  static const auto all = nlohmann::json::parse(embedded_texts())
                              .get<std::map<std::string, std::string, std::less<>>>();
  return all;
}

std::string value_of_hole(std::string_view hole, const Holes& holes) {
  if (hole.starts_with("t.")) {
    return shown(english(hole.substr(2))).text;
  }
  if (hole.starts_with("a.")) {
    return std::string(address_of(hole.substr(2)));
  }
  const auto at = std::ranges::find(holes, hole, &std::pair<std::string_view, Markup>::first);
  assert(at != holes.end());
  return at->second.text;
}

std::string_view template_named(std::string_view name) {
  const auto all = embedded_templates();
  const auto at = std::ranges::find(all, name, &EmbeddedTemplate::name);
  assert(at != all.end());
  return at->text;
}

}  // namespace

Markup shown(std::string_view text) {
  return {text.empty() ? std::string() : analysis::drawing::markup_from_text(text)};
}

Markup filled(std::string_view template_name, const Holes& holes) {
  Markup document;
  std::string_view rest = template_named(template_name);
  for (std::size_t open = rest.find("{{"); open != std::string_view::npos; open = rest.find("{{")) {
    const std::size_t close = rest.find("}}", open);
    assert(close != std::string_view::npos);
    document.text += rest.substr(0, open);
    document.text += value_of_hole(rest.substr(open + 2, close - open - 2), holes);
    rest.remove_prefix(close + 2);
  }
  document.text += rest;
  return document;
}

bool has_english(std::string_view key) { return texts().contains(key); }

std::string english(std::string_view key,
                    std::initializer_list<std::pair<std::string_view, std::string_view>> values) {
  const auto at = texts().find(key);
  assert(at != texts().end());
  std::string text = at->second;
  for (const auto& [name, value] : values) {
    const std::string hole = "{" + std::string(name) + "}";
    if (const std::size_t place = text.find(hole); place != std::string::npos) {
      text.replace(place, hole.size(), value);
    }
  }
  return text;
}

}  // namespace logger::web
