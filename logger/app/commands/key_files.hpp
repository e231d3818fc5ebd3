// The two key files of a job.
#pragma once

#include "analysis/evidence/signing_key.hpp"
#include "logger/app/commands/job_folder.hpp"

namespace logger::app {

[[nodiscard]] store::Result<analysis::evidence::PublicKey> read_public_key(
    const std::filesystem::path& file);
// Refuses a secret key that others than its owner may read or that is not the job's.
[[nodiscard]] store::Result<analysis::evidence::SigningKey> read_signing_key(
    const JobFolder& folder);

}  // namespace logger::app
