#include "logger/web/access/principal.hpp"

#include <array>

namespace logger::web {

namespace {

constexpr std::array<std::string_view, 4> kNames{"shared", "viewer", "crew", "owner"};

}  // namespace

std::string_view name_of(Role role) { return kNames.at(static_cast<std::size_t>(role) - 1); }

std::optional<Role> role_from_name(std::string_view name) {
  for (std::size_t i = 0; i < kNames.size(); ++i) {
    if (kNames[i] == name) {
      return static_cast<Role>(i + 1);
    }
  }
  return std::nullopt;
}

}  // namespace logger::web
