// Certificates of a job as they are listed.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "analysis/readiness/verdict.hpp"
#include "logger/app/commands/certificates/issued_certificates.hpp"

namespace logger::app {

struct CertificateLine {
  std::string number;
  std::string room_id;
  UtcMicros issued_at;
  analysis::readiness::Verdict verdict = analysis::readiness::Verdict::cannot_tell;
  std::string supersedes;          // number; empty = none
  std::vector<std::string> files;  // kinds that lie there: "json", "pdf", "html", "csv", "log" ...
};

[[nodiscard]] CertificateLine line_from(const IssuedCertificate& issued, const JobFolder& folder);
// Newest first.
[[nodiscard]] std::vector<CertificateLine> lines_from(const std::vector<IssuedCertificate>& issued,
                                                      const JobFolder& folder);
// {"number", "room", "issued_at_utc", "verdict", "supersedes", "files"}
[[nodiscard]] nlohmann::ordered_json json_from_certificate(const CertificateLine& line);
[[nodiscard]] nlohmann::ordered_json json_from_certificates(
    const std::vector<CertificateLine>& lines);

}  // namespace logger::app
