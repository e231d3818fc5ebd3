// A statement that one signing key takes over from another, signed with both: the old one says who
// follows it, the new one that it is held by whoever asked. A verifier who got the first public key
// from outside follows the statements to the key that signed a certificate. The date is that of
// whoever held the keys. Format: docs/keys.md. Pure; any thread.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/base/time.hpp"
#include "analysis/evidence/fault.hpp"
#include "analysis/evidence/signing_key.hpp"

namespace analysis::evidence {

inline constexpr std::string_view kHandoverFormat = "dwellog-handover-1";

struct Handover {
  PublicKey old_key;
  PublicKey new_key;
  base::UtcMicros at;
  std::int64_t sequence = 1;  // from 1; of one job, one more with each hand-over
  bool operator==(const Handover&) const = default;
};

// Canonical JSON (RFC 8785). Refuses a key that hands over to itself and a sequence below 1.
[[nodiscard]] base::Result<std::string, Fault> handover_text(const SigningKey& old_key,
                                                             const SigningKey& new_key,
                                                             base::UtcMicros at,
                                                             std::int64_t sequence);

// Refuses bytes that are not exactly such a statement, and one of which a signature does not hold.
[[nodiscard]] base::Result<Handover, Fault> handover_from_text(std::string_view bytes);

// The keys in turn, `first` included. `steps` in order, each read by handover_from_text. Refuses
// the first step that does not begin at the key before it, skips a sequence number, is dated before
// the step before it, or leads back to a key that was left.
[[nodiscard]] base::Result<std::vector<PublicKey>, Fault> keys_along(
    const PublicKey& first, std::span<const Handover> steps);

}  // namespace analysis::evidence
