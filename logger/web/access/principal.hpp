// Who asks, once that is known. A person (user), a program (token) or whoever holds a share link.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace logger::web {

// What someone may do; each includes those below it. Values are permanent (stored).
enum class Role : std::uint8_t {
  shared = 1,  // sees verdict, reasons and charts, but nothing that names people or the address
  viewer = 2,  // sees all
  crew = 3,    // and notes, photos, acknowledges
  owner = 4,   // and makes links, reads the audit log
};
[[nodiscard]] std::string_view name_of(Role role);  // "shared", "viewer", "crew", "owner"
[[nodiscard]] std::optional<Role> role_from_name(std::string_view name);

struct Principal {
  std::string id;    // permanent and without a name: "u3", "t1", "s5"
  std::string name;  // for people; empty for a share link
  Role role = Role::shared;
};

}  // namespace logger::web
