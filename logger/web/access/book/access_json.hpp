// users.json and sessions.json as text. What is not exactly as this program writes it is refused
// with corrupt: nobody gets in by half a file. Pure; any thread; any bytes may come in.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "logger/store/error.hpp"
#include "logger/web/access/book/access_book.hpp"
#include "logger/web/access/guard/attempts.hpp"
#include "logger/web/access/guard/sessions.hpp"

namespace logger::web {

inline constexpr std::string_view kBookFormat = "dwellog-access/1";
inline constexpr std::string_view kSessionsFormat = "dwellog-sessions/1";

// Errors: invalid_input for a name that is no UTF-8.
[[nodiscard]] store::Result<std::string> text_from_book(const AccessBook& book);
// `name` of the file begins the line of an error.
[[nodiscard]] store::Result<AccessBook> book_from_text(std::string_view text,
                                                       const std::string& name);

// What sessions.json holds.
struct SessionState {
  std::vector<Session> sessions;
  std::vector<Attempts> known_names;  // by id and generation of the user
  std::vector<Attempts> other_names;  // by digest, since some type their password there
  std::vector<Attempts> addresses;
  std::map<std::string, UtcMicros> link_uses;  // by id
  bool operator==(const SessionState&) const = default;
};
[[nodiscard]] std::string text_from_sessions(const SessionState& state);
[[nodiscard]] store::Result<SessionState> sessions_from_text(std::string_view text,
                                                             const std::string& name);

// [{"id", "label", "made_at_utc", "expires_at_utc", "withdrawn", "last_used_at_utc"}], newest
// first; the last is null where nobody opened it.
[[nodiscard]] std::string links_text(const AccessBook& book,
                                     const std::map<std::string, UtcMicros>& uses);

}  // namespace logger::web
