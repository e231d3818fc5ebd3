// A new signing key for a job. What others need to follow the change lies in JOBDIR/keys: each
// older public key as certificate-key-<n>.pub and the hand-over from it as handover-<n>.json, n
// from 1.
#pragma once

#include <optional>
#include <vector>

#include "logger/app/commands/keys/key_files.hpp"

namespace logger::app {

struct Rotation {
  analysis::evidence::PublicKey old_key;
  analysis::evidence::PublicKey new_key;
  std::filesystem::path old_public_key;           // where it is kept now
  std::optional<std::filesystem::path> handover;  // none for a lost key
  bool was_interrupted = false;  // an earlier rotation was brought to its end, no new one begun
  bool is_protected = false;
};

// The old key hands over to a new one, under the same passphrase where there is one. Stopped at any
// point, the job has a working key, and the next call brings the rotation to its end or begins
// anew. Refuses a key that was handed over already, as when an older one was put back.
[[nodiscard]] store::Result<Rotation> rotate_key(const JobFolder& folder,
                                                 const PassphraseSource& passphrase, UtcMicros now);

// For a secret key that is gone or whose passphrase is: nothing joins the new key to the old one.
// Refuses while the secret key is there bare. A protected one is kept beside the older keys.
[[nodiscard]] store::Result<Rotation> replace_lost_key(const JobFolder& folder);

// Older public keys and hand-overs, in order.
[[nodiscard]] std::vector<std::filesystem::path> older_key_files(const JobFolder& folder);

// Writes the secret key anew under `passphrase`, bare where that is empty.
[[nodiscard]] store::Result<void> seal_key_anew(const JobFolder& folder, const OpenedKey& opened,
                                                const std::string& passphrase);

}  // namespace logger::app
