#include "logger/web/access/secrets/secret.hpp"

#include <sodium.h>

#include <array>

#include "analysis/evidence/digest.hpp"
#include "logger/web/access/book/access_book.hpp"

namespace logger::web {

namespace {

constexpr unsigned long long kPasses = 2;
constexpr std::size_t kMemoryBytes = 19ULL * 1024 * 1024;
constexpr int kVariant = sodium_base64_VARIANT_URLSAFE_NO_PADDING;

std::string base64url_from(const std::array<unsigned char, 32>& bytes) {
  std::array<char, sodium_base64_ENCODED_LEN(32, kVariant)> text{};
  sodium_bin2base64(text.data(), text.size(), bytes.data(), bytes.size(), kVariant);
  return text.data();
}

}  // namespace

std::string new_secret() {
  [[maybe_unused]] const int ready = sodium_init();
  std::array<unsigned char, 32> bytes{};
  randombytes_buf(bytes.data(), bytes.size());
  std::string text = base64url_from(bytes);
  sodium_memzero(bytes.data(), bytes.size());
  return text;
}

std::string csrf_token_from(std::string_view session_cookie) {
  return base64url_from(
      analysis::evidence::sha256_from_parts({"dwellog-csrf-1:", session_cookie}).bytes);
}

store::Result<std::string> Argon2Hasher::hash(const std::string& password) {
  std::array<char, crypto_pwhash_STRBYTES> text{};
  if (sodium_init() < 0 ||
      crypto_pwhash_str_alg(text.data(), password.data(), password.size(), kPasses, kMemoryBytes,
                            crypto_pwhash_ALG_ARGON2ID13) != 0) {
    return store::failure(store::ErrorCode::unavailable,
                          "no memory to hash a password (19 MiB); nothing was changed");
  }
  return std::string(text.data());
}

bool Argon2Hasher::matches(const std::string& hash, const std::string& password) {
  return sodium_init() >= 0 &&
         crypto_pwhash_str_verify(hash.c_str(), password.data(), password.size()) == 0;
}

bool is_argon2_hash(const std::string& hash) {
  return hash.starts_with("$argon2id$") && hash.size() < crypto_pwhash_STRBYTES &&
         crypto_pwhash_str_needs_rehash(hash.c_str(), kPasses, kMemoryBytes) == 0;
}

const std::string& hash_of_nobody() {
  static const std::string hash =
      "$argon2id$v=19$m=19456,t=2,p=1$MYjgxAZ/"
      "l9Vnt+Ud6Xf+dg$mx7RQBEoir9DBX0kSehMyqdlniuIow7Xsbu7wIkoStY";
  return hash;
}

store::Result<void> check_password(std::string_view user_name, std::string_view password) {
  if (password.size() < kShortestPassword || password.size() > kLongestPassword) {
    return store::failure(store::ErrorCode::invalid_input,
                          "the password has " + std::to_string(password.size()) +
                              " bytes; expected " + std::to_string(kShortestPassword) + " to " +
                              std::to_string(kLongestPassword));
  }
  if (folded_name(password) == folded_name(user_name)) {
    return store::failure(store::ErrorCode::invalid_input,
                          "the password is the user's name; expected another one");
  }
  return {};
}

}  // namespace logger::web
