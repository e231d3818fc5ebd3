// A signed statement of what an evidence log was at a moment: how many entries, and the root over
// them. A file that can be handed over or time-stamped; later it shows whether the log under it was
// changed. issued_at is self-declared by the holder of the key. Pure; any thread.
// Format: docs/evidence-log.md.
#pragma once

#include <string>
#include <string_view>

#include "analysis/base/result.hpp"
#include "analysis/base/time.hpp"
#include "analysis/evidence/fault.hpp"
#include "analysis/evidence/merkle_proof.hpp"
#include "analysis/evidence/signing_key.hpp"

namespace analysis::evidence {

struct Checkpoint {
  PublicKey public_key;  // the log's identity, and the key that signed
  TreeHead head;         // size up to 2^53
  bool simulated = false;
  base::UtcMicros issued_at;
  bool operator==(const Checkpoint&) const = default;
};

// One line of canonical JSON (RFC 8785) with a line end. Deterministic. Fault when the size is
// beyond 2^53.
[[nodiscard]] base::Result<std::string, Fault> sign_checkpoint(const TreeHead& head, bool simulated,
                                                               base::UtcMicros issued_at,
                                                               const SigningKey& key);

// Accepts the exact form only, with a signature that is valid under the key it names. Whether that
// is the key one trusts is for the caller to compare.
[[nodiscard]] base::Result<Checkpoint, Fault> checkpoint_from_text(std::string_view text);

// Success when `newer` continues the log of `older`, proved by `path`; both under the same key and
// mark. Two checkpoints that no path can join are a fork: the key holder showed two histories.
[[nodiscard]] base::Result<void, Fault> check_continuation(const Checkpoint& older,
                                                           const Checkpoint& newer,
                                                           const HashPath& path);

}  // namespace analysis::evidence
