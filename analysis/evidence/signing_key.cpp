#include "analysis/evidence/signing_key.hpp"

#include <sodium.h>

#include <algorithm>
#include <utility>

#include "analysis/evidence/digest.hpp"

namespace analysis::evidence {
namespace {

using base::Failure;
using base::Result;

constexpr std::string_view kPublicPrefix = "dwellog-public-key-1 ";
constexpr std::string_view kSecretPrefix = "dwellog-secret-seed-1 ";

const unsigned char* bytes_of(std::string_view text) {
  return reinterpret_cast<const unsigned char*>(text.data());
}

// The expanded secret of libsodium (seed and public key), wiped with the object.
class ExpandedKey {
 public:
  explicit ExpandedKey(std::span<const std::uint8_t, kSeedBytes> seed) {
    crypto_sign_seed_keypair(public_key.bytes.data(), secret_.data(), seed.data());
  }
  ~ExpandedKey() { sodium_memzero(secret_.data(), secret_.size()); }
  ExpandedKey(const ExpandedKey&) = delete;
  ExpandedKey& operator=(const ExpandedKey&) = delete;

  [[nodiscard]] const unsigned char* secret() const { return secret_.data(); }
  PublicKey public_key;

 private:
  std::array<std::uint8_t, crypto_sign_SECRETKEYBYTES> secret_{};
};

// Takes the one line of a key file; false when it is not exactly prefix and 64 hex digits.
bool key_from_line(std::string_view text, std::string_view prefix, std::span<std::uint8_t> bytes) {
  if (text.ends_with('\n')) {
    text.remove_suffix(1);
  }
  if (!text.starts_with(prefix)) {
    return false;
  }
  return bytes_from_hex(text.substr(prefix.size()), bytes);
}

}  // namespace

SecretBytes::~SecretBytes() { sodium_memzero(bytes_.data(), bytes_.size()); }

SecretBytes::SecretBytes(SecretBytes&& other) noexcept : bytes_(other.bytes_) {
  sodium_memzero(other.bytes_.data(), other.bytes_.size());
}

SecretBytes& SecretBytes::operator=(SecretBytes&& other) noexcept {
  if (this != &other) {
    bytes_ = other.bytes_;
    sodium_memzero(other.bytes_.data(), other.bytes_.size());
  }
  return *this;
}

SigningKey::SigningKey(SecretBytes seed)
    : seed_(std::move(seed)), public_key_(ExpandedKey(std::as_const(seed_).span()).public_key) {}

Signature SigningKey::sign(std::string_view message) const {
  const ExpandedKey expanded(seed_.span());
  Signature signature;
  crypto_sign_detached(signature.bytes.data(), nullptr, bytes_of(message), message.size(),
                       expanded.secret());
  return signature;
}

SecretBytes SigningKey::derived_key(std::string_view purpose) const {
  SecretBytes key;
  auto hash = keyed_hash(seed_, purpose);
  std::ranges::copy(hash, key.span().begin());
  sodium_memzero(hash.data(), hash.size());
  return key;
}

std::string SigningKey::secret_text() const {
  std::string hex = hex_from_bytes(seed_.span());
  std::string text;
  text.reserve(kSecretPrefix.size() + hex.size() + 1);  // no copy is left behind by growing
  text += kSecretPrefix;
  text += hex;
  text += '\n';
  wipe(hex);
  return text;
}

void wipe(std::string& secret) {
  sodium_memzero(secret.data(), secret.size());
  secret.clear();
}

bool signature_is_valid(const PublicKey& key, std::string_view message,
                        const Signature& signature) {
  return crypto_sign_verify_detached(signature.bytes.data(), bytes_of(message), message.size(),
                                     key.bytes.data()) == 0;
}

std::array<std::uint8_t, 32> keyed_hash(const SecretBytes& key, std::string_view message) {
  static_assert(crypto_auth_hmacsha256_KEYBYTES == kSeedBytes);
  std::array<std::uint8_t, crypto_auth_hmacsha256_BYTES> hash{};
  crypto_auth_hmacsha256(hash.data(), bytes_of(message), message.size(), key.span().data());
  return hash;
}

Result<SigningKey, Fault> signing_key_from_text(std::string_view text) {
  SecretBytes seed;
  if (!key_from_line(text, kSecretPrefix, seed.span())) {
    return Failure{Fault{"not a secret key: expected one line \"" + std::string(kSecretPrefix) +
                         "\" and 64 lower-case hex digits"}};
  }
  return SigningKey(std::move(seed));
}

Result<PublicKey, Fault> public_key_from_text(std::string_view text) {
  PublicKey key;
  if (!key_from_line(text, kPublicPrefix, key.bytes)) {
    return Failure{Fault{"not a public key: expected one line \"" + std::string(kPublicPrefix) +
                         "\" and 64 lower-case hex digits"}};
  }
  return key;
}

std::string text_from_public_key(const PublicKey& key) {
  return std::string(kPublicPrefix) + hex_from_bytes(key.bytes) + '\n';
}

std::string fingerprint_of(const PublicKey& key) {
  constexpr std::size_t kGroups = 8;
  const Sha256 digest = sha256_from_bytes(
      std::string_view(reinterpret_cast<const char*>(key.bytes.data()), key.bytes.size()));
  const std::string hex = hex_from_digest(digest);
  std::string text = hex.substr(0, 4);
  for (std::size_t group = 1; group < kGroups; ++group) {
    text += ' ' + hex.substr(4 * group, 4);
  }
  return text;
}

std::string pem_from_public_key(const PublicKey& key) {
  // SEQUENCE { SEQUENCE { OID 1.3.101.112 } BIT STRING }. Source: RFC 8410 section 4.
  static constexpr std::array<std::uint8_t, 12> kDerPrefix = {0x30, 0x2a, 0x30, 0x05, 0x06, 0x03,
                                                              0x2b, 0x65, 0x70, 0x03, 0x21, 0x00};
  std::array<std::uint8_t, kDerPrefix.size() + sizeof(PublicKey::bytes)> der{};
  std::ranges::copy(key.bytes, std::ranges::copy(kDerPrefix, der.begin()).out);
  constexpr int kVariant = sodium_base64_VARIANT_ORIGINAL;
  std::array<char, sodium_base64_ENCODED_LEN(der.size(), kVariant)> text{};
  sodium_bin2base64(text.data(), text.size(), der.data(), der.size(), kVariant);
  return "-----BEGIN PUBLIC KEY-----\n" + std::string(text.data()) + "\n-----END PUBLIC KEY-----\n";
}

}  // namespace analysis::evidence
