#include "analysis/evidence/sodium_digest.hpp"

#include <sodium.h>

namespace analysis::evidence {

Sha256 sodium_sha256_from_parts(std::initializer_list<std::string_view> parts) {
  static_assert(crypto_hash_sha256_BYTES == sizeof(Sha256::bytes));
  crypto_hash_sha256_state state;
  crypto_hash_sha256_init(&state);
  for (const std::string_view part : parts) {
    crypto_hash_sha256_update(&state, reinterpret_cast<const unsigned char*>(part.data()),
                              part.size());
  }
  Sha256 digest;
  crypto_hash_sha256_final(&state, digest.bytes.data());
  return digest;
}

}  // namespace analysis::evidence
