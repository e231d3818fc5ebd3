// Ed25519 keys, signatures and their text forms. Source: RFC 8032. Deterministic: nothing here
// draws a random number or touches a file; the caller brings the seed. Any thread.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>

#include "analysis/base/result.hpp"
#include "analysis/evidence/fault.hpp"

namespace analysis::evidence {

struct PublicKey {
  std::array<std::uint8_t, 32> bytes{};
  bool operator==(const PublicKey&) const = default;
};

struct Signature {
  std::array<std::uint8_t, 64> bytes{};
  bool operator==(const Signature&) const = default;
};

inline constexpr std::size_t kSeedBytes = 32;

// Bytes that are wiped when they go out of scope.
class SecretBytes {
 public:
  SecretBytes() = default;
  ~SecretBytes();
  SecretBytes(SecretBytes&& other) noexcept;
  SecretBytes& operator=(SecretBytes&& other) noexcept;
  SecretBytes(const SecretBytes&) = delete;
  SecretBytes& operator=(const SecretBytes&) = delete;

  [[nodiscard]] std::span<std::uint8_t, 32> span() { return bytes_; }
  [[nodiscard]] std::span<const std::uint8_t, 32> span() const { return bytes_; }

 private:
  std::array<std::uint8_t, 32> bytes_{};
};

class SigningKey {
 public:
  explicit SigningKey(SecretBytes seed);

  [[nodiscard]] const PublicKey& public_key() const { return public_key_; }
  [[nodiscard]] Signature sign(std::string_view message) const;

  // A key for another purpose, HMAC-SHA-256(seed, purpose); tells nothing about the seed.
  [[nodiscard]] SecretBytes derived_key(std::string_view purpose) const;

  // For sealing it under a passphrase; a view that ends with the key.
  [[nodiscard]] std::span<const std::uint8_t, kSeedBytes> seed() const { return seed_.span(); }

  // "dwellog-secret-seed-1 <64 hex>\n": for a file that its owner alone may read. The caller wipes
  // the text (wipe()).
  [[nodiscard]] std::string secret_text() const;

 private:
  SecretBytes seed_;
  PublicKey public_key_;
};

// Overwrites the text's memory with zeros and empties it.
void wipe(std::string& secret);

// False also for small-order keys and non-canonical encodings, as libsodium refuses them.
[[nodiscard]] bool signature_is_valid(const PublicKey& key, std::string_view message,
                                      const Signature& signature);

// HMAC-SHA-256 (RFC 2104) of `message`.
[[nodiscard]] std::array<std::uint8_t, 32> keyed_hash(const SecretBytes& key,
                                                      std::string_view message);

// Text of a key file: one line, with or without its line end; nothing else is accepted. The faults
// of the secret form never repeat its content.
[[nodiscard]] base::Result<SigningKey, Fault> signing_key_from_text(std::string_view text);
[[nodiscard]] base::Result<PublicKey, Fault> public_key_from_text(std::string_view text);
// "dwellog-public-key-1 <64 hex>\n".
[[nodiscard]] std::string text_from_public_key(const PublicKey& key);

// For people to compare by eye or telephone: the first 16 bytes of SHA-256 over the 32 key bytes,
// as eight groups of four hex digits.
[[nodiscard]] std::string fingerprint_of(const PublicKey& key);

// SubjectPublicKeyInfo in PEM (RFC 8410), so that openssl can check a signature.
[[nodiscard]] std::string pem_from_public_key(const PublicKey& key);

}  // namespace analysis::evidence
