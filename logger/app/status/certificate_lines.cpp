#include "logger/app/status/certificate_lines.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "logger/app/commands/certificates/certificate_files.hpp"

namespace logger::app {

using nlohmann::ordered_json;

CertificateLine line_from(const IssuedCertificate& issued, const JobFolder& folder) {
  const auto& facts = issued.read.facts;
  CertificateLine line{facts.number,
                       facts.room.room_id,
                       facts.issued_at,
                       facts.assessment.verdict,
                       facts.supersedes ? facts.supersedes->number : "",
                       {}};
  const CertificateFiles files = files_of(folder, facts.number);
  for (const std::string_view kind : kCertificateKinds) {
    std::error_code error;
    const auto paths = files_of_kind(files, kind);
    if (std::ranges::all_of(paths, [&](const path& file) { return exists(file, error); })) {
      line.files.emplace_back(kind);
    }
  }
  return line;
}

std::vector<CertificateLine> lines_from(const std::vector<IssuedCertificate>& issued,
                                        const JobFolder& folder) {
  std::vector<CertificateLine> lines;
  for (const IssuedCertificate& one : issued) {
    lines.push_back(line_from(one, folder));
  }
  std::ranges::stable_sort(lines, std::ranges::greater{}, &CertificateLine::issued_at);
  return lines;
}

ordered_json json_from_certificate(const CertificateLine& line) {
  return {{"number", line.number},
          {"room", line.room_id},
          {"issued_at_utc", analysis::base::rfc3339_from_utc(line.issued_at)},
          {"verdict", name_of(line.verdict)},
          {"supersedes",
           line.supersedes.empty() ? ordered_json(nullptr) : ordered_json(line.supersedes)},
          {"files", line.files}};
}

ordered_json json_from_certificates(const std::vector<CertificateLine>& lines) {
  ordered_json list = ordered_json::array();
  for (const CertificateLine& line : lines) {
    list.push_back(json_from_certificate(line));
  }
  return list;
}

}  // namespace logger::app
