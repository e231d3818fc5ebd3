// The certificate and key of the job's page: those that job.json names, or a pair made here.
#pragma once

#include <string>

#include "logger/app/commands/job_folder.hpp"

namespace logger::app {

struct TlsFiles {
  std::filesystem::path certificate;  // PEM
  std::filesystem::path key;          // PEM, readable by its owner alone
  // SHA-256 of the certificate (DER) as browsers show it, "AB:CD:...", for whoever compares.
  std::string fingerprint;
  UtcMicros expires_at;
  bool was_made = false;  // by this call
};

// REQUIRES: page.tls_certificate is not empty. "self-made": JOBDIR/access/page.{crt,key} with
// ECDSA P-256 (FIPS 186-5), for page.tls_names, the page's address and localhost, 397 days long
// (what browsers take, common practice); made anew when less than 30 days are left, when the names
// are others, or when the two files don't fit. Errors: invalid_input (a file of job.json is no
// certificate or key, they don't fit, others may read the key), io, no_space, unsupported (built
// without TLS).
[[nodiscard]] store::Result<TlsFiles> tls_files_for(const JobFolder& folder, const JobPage& page,
                                                    UtcMicros now);

}  // namespace logger::app
