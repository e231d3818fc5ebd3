// The files of one certificate in JOBDIR/certificates, and how they are written: the readings
// first, then what is signed, then its pages.
#pragma once

#include <string>

#include "analysis/certificate/facts_builder.hpp"
#include "analysis/evidence/signing_key.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/job_folder.hpp"

namespace logger::app {

struct CertificateFiles {
  path json;
  path pdf;
  path readings;
  path pdf_digest;
};

// "<room>-<n>" with the first n that has no certificate yet.
[[nodiscard]] std::string next_number(const JobFolder& folder, const std::string& room_id);
[[nodiscard]] CertificateFiles files_of(const JobFolder& folder, const std::string& number);

// Feeds the room's readings of the period to the builder and writes them beside.
[[nodiscard]] store::Result<void> write_readings(OpenedJob& opened, const JobRoom& room,
                                                 analysis::certificate::FactsBuilder& builder,
                                                 const analysis::base::TimeRange& period,
                                                 const path& file);

// Signs the facts and draws their pages from what was signed.
[[nodiscard]] store::Result<void> write_certificate(
    const analysis::certificate::CertificateFacts& facts, const analysis::evidence::SigningKey& key,
    const CertificateFiles& files, const CertifyOptions& options);

}  // namespace logger::app
