// The templates of assets/html with their holes filled: {{name}} by a value, {{t.key}} by a text of
// texts.json, {{a.page.css}} by an asset's address. Internal to this folder. Pure; any thread.
#pragma once

#include <initializer_list>
#include <string>
#include <string_view>
#include <utility>

namespace logger::web {

// Something that may stand in a document as it is: text comes into it by `shown` alone.
struct Markup {
  std::string text;
};
// Text of others, made harmless.
[[nodiscard]] Markup shown(std::string_view text);

using Holes = std::initializer_list<std::pair<std::string_view, Markup>>;
// REQUIRES: the template exists and every hole of it is known.
[[nodiscard]] Markup filled(std::string_view template_name, const Holes& holes);

[[nodiscard]] bool has_english(std::string_view key);
// A text of texts.json with {name} replaced by what is given. REQUIRES: there is one under the key.
[[nodiscard]] std::string english(
    std::string_view key,
    std::initializer_list<std::pair<std::string_view, std::string_view>> values = {});

}  // namespace logger::web
