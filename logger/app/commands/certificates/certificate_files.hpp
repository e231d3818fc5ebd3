// The files of one certificate in JOBDIR/certificates, and how they are written: the readings
// first, then what is signed, then its pages.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "analysis/certificate/facts_builder.hpp"
#include "analysis/evidence/signing_key.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/store/evidence_log.hpp"

namespace logger::app {

struct CertificateFiles {
  path json;
  path pdf;
  path readings;
  path pdf_digest;
  path html;
  path html_digest;
  path log;  // extract of the evidence log
};

// "<room>-<n>" with the first n of which there is no certificate, nor an event of its issue.
[[nodiscard]] store::Result<std::string> next_number(const OpenedJob& opened,
                                                     const std::string& room_id);
[[nodiscard]] CertificateFiles files_of(const JobFolder& folder, const std::string& number);

// Which of them are called "json", "pdf", "html", "csv" (readings), "log" and "sha256s" (digests of
// the pages); empty for another word.
[[nodiscard]] std::vector<path> files_of_kind(const CertificateFiles& files, std::string_view kind);
inline constexpr std::string_view kCertificateKinds[] = {"json", "pdf", "html",
                                                         "csv",  "log", "sha256s"};

// What was read for a certificate.
struct CertifiedReadings {
  UtcMicros from;  // the period's begin
  std::uint64_t count = 0;
  std::vector<store::RecordSpan> spans;  // one a boot
};

// Feeds the room's readings of the period to the builder and writes them beside. invalid_input when
// there is none.
[[nodiscard]] store::Result<CertifiedReadings> write_readings(
    OpenedJob& opened, const JobRoom& room, analysis::certificate::FactsBuilder& builder,
    const analysis::base::TimeRange& period, const path& file);

// Signs the facts, draws their pages from what was signed, and notes the issue as an event of the
// store (kind "certificate_issued", subject the number, detail {sha256, supersedes}), so that a
// certificate that is kept back later can be told. The signed file comes last: it is never there
// without its event.
[[nodiscard]] store::Result<void> write_certificate(
    const analysis::certificate::CertificateFacts& facts, const analysis::evidence::SigningKey& key,
    const JobFolder& folder, const CertifyOptions& options);

}  // namespace logger::app
