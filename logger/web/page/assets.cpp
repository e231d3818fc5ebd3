#include "logger/web/page/assets.hpp"

#include <algorithm>
#include <cassert>

#include "logger/web/page/embedded.hpp"

namespace logger::web {
namespace {

const EmbeddedAsset* found(std::string_view name) {
  const auto all = embedded_assets();
  const auto at = std::ranges::find_if(
      all, [name](const EmbeddedAsset& embedded) { return embedded.asset.name == name; });
  return at == all.end() ? nullptr : &*at;
}

}  // namespace

const Asset* asset_named(std::string_view name) {
  const EmbeddedAsset* const embedded = found(name);
  return embedded == nullptr ? nullptr : &embedded->asset;
}

std::string_view address_of(std::string_view name) {
  const EmbeddedAsset* const embedded = found(name);
  assert(embedded != nullptr);
  return embedded->address;
}

}  // namespace logger::web
