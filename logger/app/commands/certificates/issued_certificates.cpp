#include "logger/app/commands/certificates/issued_certificates.hpp"

#include <algorithm>

#include "analysis/certificate/readings_file.hpp"

namespace logger::app {

using analysis::certificate::SupersededFacts;
using store::ErrorCode;
using store::failure;
using store::Result;

std::vector<IssuedCertificate> certificates_in(const path& folder) {
  std::vector<IssuedCertificate> issued;
  std::error_code error;
  for (const auto& entry : std::filesystem::directory_iterator(folder, error)) {
    if (entry.path().extension() != ".json") {
      continue;
    }
    const auto bytes = read_file(entry.path());
    if (!bytes) {
      continue;
    }
    if (auto read = analysis::certificate::read_certificate(bytes.value())) {
      issued.push_back({entry.path(), std::move(read).value()});
    }
  }
  std::ranges::sort(issued, {}, [](const IssuedCertificate& one) { return one.read.facts.number; });
  return issued;
}

const IssuedCertificate* successor_of(const std::vector<IssuedCertificate>& issued,
                                      const std::string& number, const std::string& sha256_hex) {
  const auto found = std::ranges::find_if(issued, [&](const IssuedCertificate& one) {
    const auto& older = one.read.facts.supersedes;
    return older && older->number == number && older->certificate_sha256_hex == sha256_hex;
  });
  return found == issued.end() ? nullptr : &*found;
}

const IssuedCertificate* newest_of_room(const std::vector<IssuedCertificate>& issued,
                                        const std::string& room_id) {
  const IssuedCertificate* newest = nullptr;
  for (const IssuedCertificate& one : issued) {
    const auto& facts = one.read.facts;
    const bool replaced = successor_of(issued, facts.number, one.read.sha256_hex) != nullptr;
    if (facts.room.room_id == room_id && !replaced &&
        (newest == nullptr || newest->read.facts.issued_at <= facts.issued_at)) {
      newest = &one;
    }
  }
  return newest;
}

Result<SupersededFacts> superseded_from(const JobFolder& folder, const std::string& room_id,
                                        const std::string& number, const std::string& reason) {
  if (!analysis::certificate::is_plain_name(number)) {
    return failure(ErrorCode::invalid_input,
                   "--supersedes `" + number + "`; expected a number as kitchen-1");
  }
  const path file = folder.certificates() / (number + ".json");
  const auto bytes = read_file(file);
  if (!bytes) {
    return failure(bytes.error().code, "--supersedes " + number + ": " + bytes.error().context);
  }
  const auto older = analysis::certificate::read_certificate(bytes.value());
  if (!older) {
    return failure(ErrorCode::invalid_input, file.string() + ": " + older.error().text +
                                                 "; only an intact certificate is superseded");
  }
  const auto& read = older.value();
  if (read.facts.number != number || read.facts.room.room_id != room_id) {
    return failure(ErrorCode::invalid_input,
                   file.string() + ": is certificate " + read.facts.number + " of room " +
                       read.facts.room.room_id + ", expected " + number + " of room " + room_id);
  }
  const auto issued = certificates_in(folder.certificates());
  if (const auto* successor = successor_of(issued, number, read.sha256_hex)) {
    return failure(ErrorCode::invalid_input, "--supersedes " + number + ": " +
                                                 successor->read.facts.number +
                                                 " took its place already; supersede that one");
  }
  return SupersededFacts{number, read.sha256_hex, reason};
}

std::string first_failure_of(const analysis::certificate::Verification& verification) {
  const auto failed = std::ranges::find(verification.lines, analysis::certificate::LineKind::failed,
                                        &analysis::certificate::VerificationLine::kind);
  return failed == verification.lines.end() ? "not intact" : failed->text;
}

}  // namespace logger::app
