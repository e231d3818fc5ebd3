// Who may do what: users with passwords, tokens for programs, share links, sessions, and the brake
// on guessing. Thread contract: identify and end_session on the server's thread; log_in blocks
// (Argon2id) and is for the worker thread, one at a time; both may run at once. Time is passed in.
// Secrets are kept as hashes only. Files: ACCESSDIR/users.json, ACCESSDIR/sessions.json, mode 0600.
#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <string>

#include "analysis/base/time.hpp"
#include "logger/store/error.hpp"
#include "logger/web/access/principal.hpp"
#include "logger/web/access/secrets/secret.hpp"

namespace logger::web {

using analysis::base::Micros;
using analysis::base::UtcMicros;

struct Identified {
  Principal principal;
  bool by_cookie = false;  // then what changes something needs the session's CSRF token
  std::string csrf_token;  // of the session; empty for a bearer token
  UtcMicros expires_at;    // at the latest; the year 9999 for a bearer token, which has no end
};

// Where a bearer token is given, it alone counts.
struct Credentials {
  std::string bearer_token;    // of the authorization header; empty = none
  std::string session_cookie;  // empty = none
};

// A new session, or why there is none.
struct LoginAnswer {
  std::optional<Identified> identified{};
  std::string session_cookie{};  // the value to set
  Micros retry_after{0};         // > 0: too many attempts, for this name or from this address
  bool files_unread = false;     // nobody gets in, whoever asks: the files can't be read
};

class Access {
 public:
  // Reads the files, and again when another program (`dwellog users`) changed them. An absent
  // users.json is an empty one. While they can't be read (damaged, readable by others than their
  // owner, a failing disk) nobody gets in; once they are mended, all is as it was.
  [[nodiscard]] static std::unique_ptr<Access> open(const std::filesystem::path& folder);
  [[nodiscard]] static std::unique_ptr<Access> open(const std::filesystem::path& folder,
                                                    std::unique_ptr<PasswordHasher> hasher);
  ~Access();
  Access(const Access&) = delete;
  Access& operator=(const Access&) = delete;

  // Nobody for an unknown, expired or withdrawn secret, nor while users.json cannot be read. Looks
  // up the secret's digest, so its time tells nothing about the secret. Writes at most once an
  // hour.
  [[nodiscard]] std::optional<Identified> identify(const Credentials& credentials, UtcMicros now);
  // Blocks for the time of one Argon2id. Takes as long for an unknown name as for a wrong password.
  [[nodiscard]] LoginAnswer log_in(const std::string& name, const std::string& password,
                                   const std::string& peer_address, UtcMicros now);
  // A session for whoever holds the link's token. Counted as an attempt where it is wrong.
  [[nodiscard]] LoginAnswer open_link(const std::string& token, const std::string& peer_address,
                                      UtcMicros now);
  void end_session(const std::string& session_cookie);

  struct NewLink {
    std::string id;     // "s5"
    std::string token;  // shown once
    UtcMicros expires_at;
  };
  [[nodiscard]] store::Result<NewLink> make_link(const std::string& label, UtcMicros expires_at,
                                                 const Principal& by, UtcMicros now);
  [[nodiscard]] store::Result<void> withdraw_link(const std::string& id);
  // [{"id", "label", "made_at_utc", "expires_at_utc", "withdrawn", "last_used_at_utc"}]
  [[nodiscard]] std::string links_json() const;

 private:
  struct State;
  explicit Access(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace logger::web
