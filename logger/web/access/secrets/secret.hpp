// Secrets that a program draws, and passwords that people choose. Any thread.
#pragma once

#include <string>
#include <string_view>

#include "logger/store/error.hpp"

namespace logger::web {

// 256 random bits as base64url without padding (RFC 4648, section 5): 43 characters. So long that
// nobody guesses it, which is why a plain SHA-256 of it may be kept.
[[nodiscard]] std::string new_secret();

// Of a page's forms, for the session with this cookie: tells nothing about the cookie.
[[nodiscard]] std::string csrf_token_from(std::string_view session_cookie);

// Passwords as they are kept.
class PasswordHasher {
 public:
  PasswordHasher() = default;
  PasswordHasher(const PasswordHasher&) = delete;
  PasswordHasher& operator=(const PasswordHasher&) = delete;
  virtual ~PasswordHasher() = default;
  // A text of printable ASCII with its own salt. Errors: unavailable (no memory for it).
  virtual store::Result<std::string> hash(const std::string& password) = 0;
  // False for anything else than that password, also without memory for it.
  virtual bool matches(const std::string& hash, const std::string& password) = 0;
};

// Argon2id (RFC 9106) of libsodium with 19 MiB, two passes, one lane. Source of the figures: OWASP,
// Password Storage Cheat Sheet, "Argon2id", the first of its equal choices. docs/access.md has what
// it takes on our machine.
class Argon2Hasher final : public PasswordHasher {
 public:
  store::Result<std::string> hash(const std::string& password) override;
  bool matches(const std::string& hash, const std::string& password) override;
};
// Whether a text is such a hash with those figures. A file that asks for more memory would be a
// way to take the machine's.
[[nodiscard]] bool is_argon2_hash(const std::string& hash);

// Of a password that nobody knows, to be checked where there is no user, so that it takes as long.
[[nodiscard]] const std::string& hash_of_nobody();

inline constexpr std::size_t kShortestPassword = 10;  // bytes
inline constexpr std::size_t kLongestPassword = 256;  // bytes

// Errors: invalid_input for a password of another length, or that is the user's name.
[[nodiscard]] store::Result<void> check_password(std::string_view user_name,
                                                 std::string_view password);

}  // namespace logger::web
