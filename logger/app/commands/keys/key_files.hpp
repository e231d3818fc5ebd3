// The key files of a job: the public key, the secret one beside it, bare or under a passphrase.
#pragma once

#include <string>

#include "analysis/evidence/signing_key.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/commands/keys/passphrase.hpp"

namespace logger::app {

[[nodiscard]] store::Result<analysis::evidence::PublicKey> read_public_key(
    const std::filesystem::path& file);

// What is known of a secret key without its passphrase.
struct SecretKeyFile {
  std::string text;  // wiped by whoever is done with it
  bool is_protected = false;
  analysis::evidence::PublicKey public_key;  // where protected, as the file says
};
// Refuses a file that others than its owner may read, and what is no secret key.
[[nodiscard]] store::Result<SecretKeyFile> read_secret_key_file(const std::filesystem::path& file);

// The same for the job's secret key, and that it belongs to the job's public key. `text` is empty.
[[nodiscard]] store::Result<SecretKeyFile> check_secret_key(const JobFolder& folder);

struct OpenedKey {
  analysis::evidence::SigningKey key;
  std::string passphrase;  // empty where there is none; wiped by whoever is done with it
};
// Refuses what check_secret_key refuses, and a wrong passphrase.
[[nodiscard]] store::Result<OpenedKey> open_signing_key(const JobFolder& folder,
                                                        const PassphraseSource& passphrase);

[[nodiscard]] store::Result<analysis::evidence::SigningKey> new_signing_key();

// Under the passphrase, or bare where that is empty; readable by its owner alone.
[[nodiscard]] store::Result<void> write_secret_key(const std::filesystem::path& file,
                                                   const analysis::evidence::SigningKey& key,
                                                   const std::string& passphrase);

}  // namespace logger::app
