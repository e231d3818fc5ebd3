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
  // Why this call made them anew; empty where they were there.
  std::string made_because;
  [[nodiscard]] bool was_made() const { return !made_because.empty(); }
};

// REQUIRES: page.tls_certificate is not empty. "self-made": JOBDIR/access/page.{crt,key} with
// ECDSA P-256 (FIPS 186-5), for page.tls_names, the page's address and localhost, 397 days long
// (what browsers take, common practice); made anew when one is missing, when less than 30 days are
// left, when the names are others, or when the two don't fit (a stopped writer). Errors:
// invalid_input (a file is no certificate or key, others may read the key or the folder; those of
// job.json don't fit), io, no_space, unsupported (built without TLS). One line each, with what
// mends it.
[[nodiscard]] store::Result<TlsFiles> tls_files_for(const JobFolder& folder, const JobPage& page,
                                                    UtcMicros now);

// The same errors of what is there; makes nothing.
[[nodiscard]] store::Result<void> check_tls_files(const JobFolder& folder, const JobPage& page);

}  // namespace logger::app
