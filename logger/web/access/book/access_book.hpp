// Who may come in, as users.json holds it, and every change of it. Pure; time is passed in. Ids are
// permanent and never given again.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "analysis/base/time.hpp"
#include "analysis/evidence/digest.hpp"
#include "logger/store/error.hpp"
#include "logger/web/access/principal.hpp"

namespace logger::web {

using analysis::base::UtcMicros;
using analysis::evidence::Sha256;

struct User {
  std::string id;  // "u3"
  std::string name;
  Role role = Role::viewer;
  std::string password_hash;
  int generation = 1;  // grows with every change of password or role: older sessions end
  UtcMicros made_at;
  bool operator==(const User&) const = default;
};
struct AccessToken {
  std::string id;    // "t1"
  std::string name;  // of the program that has it
  Role role = Role::viewer;
  Sha256 digest;
  UtcMicros made_at;
  bool operator==(const AccessToken&) const = default;
};
struct ShareLink {
  std::string id;  // "s5"
  std::string label;
  Sha256 digest;
  std::string made_by;  // id; empty = on the logger's machine
  UtcMicros made_at;
  UtcMicros expires_at;
  bool withdrawn = false;
  bool operator==(const ShareLink&) const = default;
};

struct AccessBook {
  std::vector<User> users;
  std::vector<AccessToken> tokens;
  std::vector<ShareLink> links;
  int next_user = 1;
  int next_token = 1;
  int next_link = 1;
  bool operator==(const AccessBook&) const = default;
};

inline constexpr std::size_t kMostEntries = 1000;  // of each kind
inline constexpr std::size_t kLongestName = 64;    // bytes, of names and labels
inline constexpr double kShortestLinkHours = 0.25;
inline constexpr double kLongestLinkHours = 366 * 24;

// Telephones like to begin a name with a capital: ASCII letters of both cases are the same, and
// blanks around a name don't count.
[[nodiscard]] std::string folded_name(std::string_view name);

// nullptr when there is none; the pointers end with the next change of the book.
[[nodiscard]] const User* user_named(const AccessBook& book, std::string_view name);
[[nodiscard]] const User* user_with_id(const AccessBook& book, std::string_view id);
[[nodiscard]] const AccessToken* token_with(const AccessBook& book, const Sha256& digest);
[[nodiscard]] const ShareLink* link_with(const AccessBook& book, const Sha256& digest);
[[nodiscard]] const ShareLink* link_with_id(const AccessBook& book, std::string_view id);

// The changes give the id. Errors: invalid_input (a name that is taken, empty, too long or not of
// one line; the role `shared`, which links alone have; too many), not_found.
store::Result<std::string> add_user(AccessBook& book, const std::string& name, Role role,
                                    const std::string& password_hash, UtcMicros now);
store::Result<std::string> change_password(AccessBook& book, const std::string& name,
                                           const std::string& password_hash);
store::Result<std::string> change_role(AccessBook& book, const std::string& name, Role role);
store::Result<std::string> remove_user(AccessBook& book, const std::string& name);
store::Result<std::string> add_token(AccessBook& book, const std::string& name, Role role,
                                     const Sha256& digest, UtcMicros now);
store::Result<std::string> remove_token(AccessBook& book, const std::string& id);
// `id` of the link is ignored. Links that ended over 90 days ago are dropped. invalid_input also
// where it lasts less than a quarter of an hour or more than 366 days.
store::Result<std::string> add_link(AccessBook& book, ShareLink link);
store::Result<std::string> withdraw_link(AccessBook& book, const std::string& id);

}  // namespace logger::web
