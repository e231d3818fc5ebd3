// A secret key under a passphrase: Argon2id (RFC 9106) makes a key of the passphrase, and
// libsodium's secretbox (XSalsa20-Poly1305) seals the seed with it. The public key stands beside it
// in the open. Deterministic: the caller brings salt and nonce. Format: docs/keys.md. Any thread.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>

#include "analysis/base/result.hpp"
#include "analysis/evidence/fault.hpp"
#include "analysis/evidence/signing_key.hpp"

namespace analysis::evidence {

inline constexpr std::string_view kSealedSecretFormat = "dwellog-sealed-secret-1";

// What guessing one passphrase costs. The default are libsodium's limits for interactive use,
// written into each file.
struct SealingCost {
  std::int64_t operations = 2;
  std::int64_t memory_bytes = 64LL * 1024 * 1024;
};

// Random bytes, never used twice.
struct SealingNoise {
  std::array<std::uint8_t, 16> salt{};
  std::array<std::uint8_t, 24> nonce{};
};

// One line of canonical JSON with its line end. Refuses an empty passphrase, and a cost for which
// the machine has not the memory.
[[nodiscard]] base::Result<std::string, Fault> sealed_secret_text(const SigningKey& key,
                                                                  std::string_view passphrase,
                                                                  const SealingNoise& noise,
                                                                  const SealingCost& cost = {});

// True for what begins like such a file; says nothing of its soundness.
[[nodiscard]] bool is_sealed_secret(std::string_view text);

// The public key beside the sealed one; only opening it shows that they belong together.
[[nodiscard]] base::Result<PublicKey, Fault> public_key_of_sealed(std::string_view text);

// Refuses a wrong passphrase and an altered file alike: they can't be told apart.
[[nodiscard]] base::Result<SigningKey, Fault> open_sealed_secret(std::string_view text,
                                                                 std::string_view passphrase);

}  // namespace analysis::evidence
