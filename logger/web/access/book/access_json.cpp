#include "logger/web/access/book/access_json.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "logger/web/access/secrets/secret.hpp"

namespace logger::web {

using nlohmann::ordered_json;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

constexpr std::size_t kLongestText = 128;  // of any text in these files

// Takes the members of one object; sound when all were there, of their kind, and no others.
class Members {
 public:
  explicit Members(const ordered_json& object) : object_(object), sound_(object.is_object()) {}
  [[nodiscard]] bool sound() const { return sound_ && taken_ == object_.size(); }
  void refuse_unless(bool holds) { sound_ = sound_ && holds; }

  std::string text(const char* key) {
    const ordered_json* value = find(key, ordered_json::value_t::string);
    std::string taken = value != nullptr ? value->get<std::string>() : "";
    refuse_unless(taken.size() <= kLongestText);
    return taken;
  }
  int number(const char* key) {
    constexpr std::uint64_t kMost = 1'000'000'000;
    const ordered_json* value = find(key, ordered_json::value_t::number_unsigned);
    const auto taken = value != nullptr ? value->get<std::uint64_t>() : 0;
    refuse_unless(taken <= kMost);
    return taken <= kMost ? static_cast<int>(taken) : 0;
  }
  bool truth(const char* key) {
    const ordered_json* value = find(key, ordered_json::value_t::boolean);
    return value != nullptr && value->get<bool>();
  }
  UtcMicros moment(const char* key) {
    const auto at = analysis::base::utc_from_rfc3339(text(key));
    refuse_unless(at.has_value());
    return at.value_or(UtcMicros{});
  }
  Sha256 digest(const char* key) {
    const auto digest = analysis::evidence::digest_from_hex(text(key));
    refuse_unless(digest.has_value());
    return digest.value_or(Sha256{});
  }
  Role role(const char* key) {
    const auto role = role_from_name(text(key));
    refuse_unless(role.has_value() && role != Role::shared);
    return role.value_or(Role::viewer);
  }
  // Each entry by `read`, which takes Members of it.
  template <class Entry, class Read>
  std::vector<Entry> list(const char* key, std::size_t most, Read read) {
    std::vector<Entry> entries;
    const ordered_json* value = find(key, ordered_json::value_t::array);
    refuse_unless(value != nullptr && value->size() <= most);
    for (std::size_t i = 0; sound_ && i < value->size(); ++i) {
      Members members((*value)[i]);
      entries.push_back(read(members));
      refuse_unless(members.sound());
    }
    return entries;
  }

 private:
  const ordered_json* find(const char* key, ordered_json::value_t kind) {
    if (sound_) {
      const auto found = object_.find(key);
      if (found != object_.end() && found->type() == kind) {
        ++taken_;
        return &*found;
      }
    }
    sound_ = false;
    return nullptr;
  }

  const ordered_json& object_;
  bool sound_;
  std::size_t taken_ = 0;
};

std::string time_text(UtcMicros at) { return analysis::base::rfc3339_from_utc(at); }

ordered_json json_from(const User& user) {
  return {{"id", user.id},
          {"name", user.name},
          {"role", name_of(user.role)},
          {"password_argon2id", user.password_hash},
          {"generation", user.generation},
          {"made_at_utc", time_text(user.made_at)}};
}
User user_from(Members& members) {
  User user{members.text("id"),           members.text("name"),
            members.role("role"),         members.text("password_argon2id"),
            members.number("generation"), members.moment("made_at_utc")};
  members.refuse_unless(is_argon2_hash(user.password_hash));
  return user;
}

ordered_json json_from(const AccessToken& token) {
  return {{"id", token.id},
          {"name", token.name},
          {"role", name_of(token.role)},
          {"sha256", hex_from_digest(token.digest)},
          {"made_at_utc", time_text(token.made_at)}};
}
AccessToken token_from(Members& members) {
  return {members.text("id"), members.text("name"), members.role("role"), members.digest("sha256"),
          members.moment("made_at_utc")};
}

ordered_json json_from(const ShareLink& link) {
  return {{"id", link.id},
          {"label", link.label},
          {"sha256", hex_from_digest(link.digest)},
          {"made_by", link.made_by},
          {"made_at_utc", time_text(link.made_at)},
          {"expires_at_utc", time_text(link.expires_at)},
          {"withdrawn", link.withdrawn}};
}
ShareLink link_from(Members& members) {
  return {
      members.text("id"),        members.text("label"),         members.digest("sha256"),
      members.text("made_by"),   members.moment("made_at_utc"), members.moment("expires_at_utc"),
      members.truth("withdrawn")};
}

ordered_json json_from(const Session& session) {
  return {{"sha256", hex_from_digest(session.digest)},
          {"principal", session.principal_id},
          {"generation", session.generation},
          {"made_at_utc", time_text(session.made_at)},
          {"used_at_utc", time_text(session.used_at)}};
}
Session session_from(Members& members) {
  return {members.digest("sha256"), members.text("principal"), members.number("generation"),
          members.moment("made_at_utc"), members.moment("used_at_utc")};
}

ordered_json json_from(const Attempts& attempts) {
  return {{"key", attempts.key},
          {"wrong", attempts.wrong},
          {"last_wrong_at_utc", time_text(attempts.last_wrong_at)}};
}
Attempts attempts_from(Members& members) {
  return {members.text("key"), members.number("wrong"), members.moment("last_wrong_at_utc")};
}

template <class Entry>
ordered_json json_from(const std::vector<Entry>& entries) {
  ordered_json list = ordered_json::array();
  for (const Entry& entry : entries) {
    list.push_back(json_from(entry));
  }
  return list;
}

// Ids begin with the letter of their kind, are below the next one to give, and stand there once.
template <class Entry>
bool ids_are_sound(const std::vector<Entry>& entries, char letter, int next) {
  std::set<int> seen;
  return std::all_of(entries.begin(), entries.end(), [&](const Entry& entry) {
    const std::string digits = entry.id.empty() ? "" : entry.id.substr(1);
    const bool is_number = !digits.empty() && digits.size() <= 9 && digits.front() != '0' &&
                           digits.find_first_not_of("0123456789") == std::string::npos;
    return is_number && entry.id.front() == letter && std::stoi(digits) < next &&
           seen.insert(std::stoi(digits)).second;
  });
}

bool names_are_single(const std::vector<User>& users) {
  std::set<std::string> seen;
  return std::all_of(users.begin(), users.end(),
                     [&](const User& user) { return seen.insert(folded_name(user.name)).second; });
}

store::Failure not_ours(const std::string& name, std::string_view format) {
  return failure(ErrorCode::corrupt,
                 name + ": damaged, or not as this program writes it (" + std::string(format) +
                     "); nobody is let in. Put it back from a backup, or remove it and begin anew");
}

// Refuses what is no object with that format, repeated keys included.
template <class Value, class Read>
Result<Value> value_from(std::string_view text, const std::string& name, std::string_view format,
                         Read read) {
  std::vector<std::set<std::string>> keys;
  bool repeated = false;
  const auto watch = [&](int, ordered_json::parse_event_t event, ordered_json& parsed) {
    if (event == ordered_json::parse_event_t::object_start) {
      keys.emplace_back();
    } else if (event == ordered_json::parse_event_t::object_end) {
      keys.pop_back();
    } else if (event == ordered_json::parse_event_t::key) {
      repeated = !keys.back().insert(parsed.get<std::string>()).second || repeated;
    }
    return true;
  };
  const auto document = ordered_json::parse(text, watch, false);
  if (document.is_discarded() || repeated) {
    return not_ours(name, format);
  }
  Members members(document);
  members.refuse_unless(members.text("format") == format);
  Value value = read(members);
  return members.sound() ? Result<Value>{std::move(value)} : not_ours(name, format);
}

AccessBook book_from(Members& members) {
  AccessBook book;
  book.next_user = members.number("next_user");
  book.next_token = members.number("next_token");
  book.next_link = members.number("next_link");
  book.users = members.list<User>("users", kMostEntries, user_from);
  book.tokens = members.list<AccessToken>("tokens", kMostEntries, token_from);
  book.links = members.list<ShareLink>("links", kMostEntries, link_from);
  members.refuse_unless(ids_are_sound(book.users, 'u', book.next_user) &&
                        ids_are_sound(book.tokens, 't', book.next_token) &&
                        ids_are_sound(book.links, 's', book.next_link) &&
                        names_are_single(book.users));
  return book;
}

SessionState state_from(Members& members) {
  constexpr std::size_t kMost = 10'000;
  SessionState state;
  state.sessions = members.list<Session>("sessions", SessionTable::kMost, session_from);
  state.known_names = members.list<Attempts>("known_names", kMost, attempts_from);
  state.other_names = members.list<Attempts>("other_names", kMost, attempts_from);
  state.addresses = members.list<Attempts>("addresses", kMost, attempts_from);
  const auto uses =
      members.list<std::pair<std::string, UtcMicros>>("link_uses", kMostEntries, [](Members& use) {
        return std::pair{use.text("id"), use.moment("used_at_utc")};
      });
  state.link_uses.insert(uses.begin(), uses.end());
  return state;
}

}  // namespace

Result<std::string> text_from_book(const AccessBook& book) {
  const ordered_json document = {
      {"format", kBookFormat},          {"next_user", book.next_user},
      {"next_token", book.next_token},  {"next_link", book.next_link},
      {"users", json_from(book.users)}, {"tokens", json_from(book.tokens)},
      {"links", json_from(book.links)}};
  try {
    return document.dump(1) + "\n";
  } catch (const ordered_json::exception&) {
    return failure(ErrorCode::invalid_input, "a name or label is no UTF-8; nothing was changed");
  }
}

Result<AccessBook> book_from_text(std::string_view text, const std::string& name) {
  return value_from<AccessBook>(text, name, kBookFormat, book_from);
}

std::string text_from_sessions(const SessionState& state) {
  ordered_json uses = ordered_json::array();
  for (const auto& [id, at] : state.link_uses) {
    uses.push_back({{"id", id}, {"used_at_utc", time_text(at)}});
  }
  const ordered_json document = {{"format", kSessionsFormat},
                                 {"sessions", json_from(state.sessions)},
                                 {"known_names", json_from(state.known_names)},
                                 {"other_names", json_from(state.other_names)},
                                 {"addresses", json_from(state.addresses)},
                                 {"link_uses", uses}};
  return document.dump(1, ' ', false, ordered_json::error_handler_t::replace) + "\n";
}

Result<SessionState> sessions_from_text(std::string_view text, const std::string& name) {
  return value_from<SessionState>(text, name, kSessionsFormat, state_from);
}

std::string links_text(const AccessBook& book, const std::map<std::string, UtcMicros>& uses) {
  ordered_json list = ordered_json::array();
  for (auto link = book.links.rbegin(); link != book.links.rend(); ++link) {
    const auto use = uses.find(link->id);
    list.push_back(
        {{"id", link->id},
         {"label", link->label},
         {"made_at_utc", time_text(link->made_at)},
         {"expires_at_utc", time_text(link->expires_at)},
         {"withdrawn", link->withdrawn},
         {"last_used_at_utc",
          use == uses.end() ? ordered_json(nullptr) : ordered_json(time_text(use->second))}});
  }
  return list.dump();
}

}  // namespace logger::web
