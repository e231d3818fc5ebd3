// What the build makes of the folder assets/. Internal to this folder.
#pragma once

#include <span>
#include <string_view>

#include "logger/web/page/assets.hpp"

namespace logger::web {

struct EmbeddedAsset {
  Asset asset;
  std::string_view address;
};
struct EmbeddedTemplate {
  std::string_view name;  // "room" of html/room.html
  std::string_view text;
};

[[nodiscard]] std::span<const EmbeddedAsset> embedded_assets();
[[nodiscard]] std::span<const EmbeddedTemplate> embedded_templates();
[[nodiscard]] std::string_view embedded_texts();  // JSON object: key -> English text

}  // namespace logger::web
