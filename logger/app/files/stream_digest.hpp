// SHA-256 (FIPS 180-4) of bytes that come piece by piece.
#pragma once

#include <sodium.h>

#include <string_view>

#include "analysis/evidence/digest.hpp"

namespace logger::app {

class StreamDigest {
 public:
  StreamDigest() { crypto_hash_sha256_init(&state_); }
  void add(std::string_view bytes) {
    crypto_hash_sha256_update(&state_, reinterpret_cast<const unsigned char*>(bytes.data()),
                              bytes.size());
  }
  // REQUIRES: called once.
  [[nodiscard]] analysis::evidence::Sha256 finish() {
    analysis::evidence::Sha256 digest;
    crypto_hash_sha256_final(&state_, digest.bytes.data());
    return digest;
  }

 private:
  crypto_hash_sha256_state state_{};
};

}  // namespace logger::app
