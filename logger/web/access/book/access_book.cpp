#include "logger/web/access/book/access_book.hpp"

#include <algorithm>

namespace logger::web {

using analysis::base::micros_from_hours;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

Result<void> check_name(const char* what, const std::string& name) {
  const bool printable = std::none_of(name.begin(), name.end(), [](char c) {
    return static_cast<unsigned char>(c) < 0x20 || c == 0x7f;
  });
  if (printable && name.size() <= kLongestName && !folded_name(name).empty()) {
    return {};
  }
  return failure(ErrorCode::invalid_input, std::string(what) + ": expected 1 to " +
                                               std::to_string(kLongestName) +
                                               " bytes on one line, without control characters");
}

Result<void> check_role(Role role) {
  return role == Role::shared ? failure(ErrorCode::invalid_input,
                                        "role shared: only links have it; expected "
                                        "viewer, crew or owner")
                              : Result<void>{};
}

template <class Entry>
Result<void> check_room(const std::vector<Entry>& entries, const char* what) {
  return entries.size() < kMostEntries
             ? Result<void>{}
             : failure(ErrorCode::invalid_input, "there are " + std::to_string(kMostEntries) + " " +
                                                     what + " already, the most; remove some");
}

template <class Entry, class Holds>
auto first_that(std::vector<Entry>& entries, Holds holds) {
  return std::find_if(entries.begin(), entries.end(), holds);
}
template <class Entry, class Holds>
const Entry* pointer_to(const std::vector<Entry>& entries, Holds holds) {
  const auto found = std::find_if(entries.begin(), entries.end(), holds);
  return found == entries.end() ? nullptr : &*found;
}

auto is_named(std::string_view name) {
  return
      [folded = folded_name(name)](const User& user) { return folded_name(user.name) == folded; };
}

store::Failure no_such(const char* what, const std::string& name) {
  return failure(ErrorCode::not_found, std::string("no ") + what + " `" + name + "`");
}

// What several changes have in common: the user of that name, changed; older sessions end.
template <class Change>
Result<std::string> change_user(AccessBook& book, const std::string& name, Change change) {
  const auto user = first_that(book.users, is_named(name));
  if (user == book.users.end()) {
    return no_such("user", name);
  }
  change(*user);
  ++user->generation;
  return user->id;
}

}  // namespace

std::string folded_name(std::string_view name) {
  const std::size_t first = name.find_first_not_of(' ');
  if (first == std::string_view::npos) {
    return "";
  }
  std::string folded(name.substr(first, name.find_last_not_of(' ') - first + 1));
  std::transform(folded.begin(), folded.end(), folded.begin(), lower);
  return folded;
}

const User* user_named(const AccessBook& book, std::string_view name) {
  return pointer_to(book.users, is_named(name));
}
const User* user_with_id(const AccessBook& book, std::string_view id) {
  return pointer_to(book.users, [&](const User& user) { return user.id == id; });
}
const AccessToken* token_with(const AccessBook& book, const Sha256& digest) {
  return pointer_to(book.tokens, [&](const AccessToken& token) { return token.digest == digest; });
}
const ShareLink* link_with(const AccessBook& book, const Sha256& digest) {
  return pointer_to(book.links, [&](const ShareLink& link) { return link.digest == digest; });
}
const ShareLink* link_with_id(const AccessBook& book, std::string_view id) {
  return pointer_to(book.links, [&](const ShareLink& link) { return link.id == id; });
}

Result<std::string> add_user(AccessBook& book, const std::string& name, Role role,
                             const std::string& password_hash, UtcMicros now) {
  for (const Result<void>& sound :
       {check_name("NAME", name), check_role(role), check_room(book.users, "users")}) {
    if (!sound) {
      return store::Failure{sound.error()};
    }
  }
  if (const User* other = user_named(book, name); other != nullptr) {
    return failure(ErrorCode::invalid_input, "there is a user `" + other->name + "` already");
  }
  const std::string id = "u" + std::to_string(book.next_user++);
  book.users.push_back({id, name, role, password_hash, 1, now});
  return id;
}

Result<std::string> change_password(AccessBook& book, const std::string& name,
                                    const std::string& password_hash) {
  return change_user(book, name, [&](User& user) { user.password_hash = password_hash; });
}

Result<std::string> change_role(AccessBook& book, const std::string& name, Role role) {
  if (const auto sound = check_role(role); !sound) {
    return store::Failure{sound.error()};
  }
  return change_user(book, name, [&](User& user) { user.role = role; });
}

Result<std::string> remove_user(AccessBook& book, const std::string& name) {
  const auto user = first_that(book.users, is_named(name));
  if (user == book.users.end()) {
    return no_such("user", name);
  }
  const std::string id = user->id;
  book.users.erase(user);
  return id;
}

Result<std::string> add_token(AccessBook& book, const std::string& name, Role role,
                              const Sha256& digest, UtcMicros now) {
  for (const Result<void>& sound :
       {check_name("NAME", name), check_role(role), check_room(book.tokens, "tokens")}) {
    if (!sound) {
      return store::Failure{sound.error()};
    }
  }
  const std::string id = "t" + std::to_string(book.next_token++);
  book.tokens.push_back({id, name, role, digest, now});
  return id;
}

Result<std::string> remove_token(AccessBook& book, const std::string& id) {
  const auto token =
      first_that(book.tokens, [&](const AccessToken& other) { return other.id == id; });
  if (token == book.tokens.end()) {
    return no_such("token", id);
  }
  book.tokens.erase(token);
  return id;
}

Result<std::string> add_link(AccessBook& book, ShareLink link) {
  constexpr double kKeptHours = 90 * 24;
  const analysis::base::Micros lasting = link.expires_at - link.made_at;
  if (lasting < micros_from_hours(kShortestLinkHours) ||
      lasting > micros_from_hours(kLongestLinkHours)) {
    return failure(ErrorCode::invalid_input, "a link lasts 0.25 to 8784 hours");
  }
  std::erase_if(book.links, [&](const ShareLink& old) {
    return link.made_at - old.expires_at > micros_from_hours(kKeptHours);
  });
  if (!link.label.empty()) {
    if (const auto sound = check_name("label", link.label); !sound) {
      return store::Failure{sound.error()};
    }
  }
  if (const auto room = check_room(book.links, "links"); !room) {
    return store::Failure{room.error()};
  }
  link.id = "s" + std::to_string(book.next_link++);
  link.withdrawn = false;
  book.links.push_back(link);
  return link.id;
}

Result<std::string> withdraw_link(AccessBook& book, const std::string& id) {
  const auto link = first_that(book.links, [&](const ShareLink& other) { return other.id == id; });
  if (link == book.links.end()) {
    return no_such("link", id);
  }
  link->withdrawn = true;
  return id;
}

}  // namespace logger::web
