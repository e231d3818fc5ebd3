#include "analysis/certificate/replay/companions.hpp"

#include <algorithm>
#include <set>

#include "analysis/certificate/replay/handover_check.hpp"

namespace analysis::certificate {
namespace {

using Lines = std::vector<VerificationLine>;

std::string name_of_photo(const PhotoFacts& photo) {
  return "photo " + photo.sha256_hex.substr(0, 8) + " of " + photo.subject + ", " +
         base::rfc3339_from_utc(photo.at);
}

VerificationLine newer_line(const ReadCertificate& older, const std::string& bytes,
                            const VerifyInput& input) {
  const auto read = read_certificate(bytes);
  if (!read) {
    return {LineKind::failed,
            "a newer certificate given is not an intact one: " + read.error().text};
  }
  const CertificateFacts& newer = read.value().facts;
  const std::string name =
      "certificate " + newer.number + ", issued " + base::rfc3339_from_utc(newer.issued_at) + ",";
  const auto& superseded = newer.supersedes;
  if (!superseded || superseded->number != older.facts.number) {
    return {LineKind::note, name + " does not take the place of this one"};
  }
  if (superseded->certificate_sha256_hex != older.sha256_hex) {
    return {
        LineKind::unproved,
        name + " takes the place of a certificate of this number with other bytes (SHA-256 " +
            superseded->certificate_sha256_hex + ", this one has " + older.sha256_hex + ")" +
            (older.redacted.empty() ? "" : ": this is a redacted copy, compare with the whole")};
  }
  const auto keys = keys_up_to(read.value().public_key, input);
  if (std::ranges::find(keys, older.public_key) == keys.end()) {
    return {LineKind::unproved, name + " claims to take the place of this one, but its key (" +
                                    evidence::fingerprint_of(read.value().public_key) +
                                    ") is another and no hand-over given leads to it"};
  }
  if (newer.issued_at < older.facts.issued_at || newer.simulated != older.facts.simulated) {
    return {LineKind::failed, name +
                                  " is older than the one it takes the place of, or is of a "
                                  "simulated site where this is not (or the reverse)"};
  }
  return {LineKind::proved,
          "SUPERSEDED: " + name + " takes the place of this one: " + superseded->reason};
}

}  // namespace

Lines photo_lines(const ReadCertificate& certificate, const VerifyInput& input) {
  Lines lines;
  if (!input.photos) {
    return lines;
  }
  std::set<std::string> used;
  for (const PhotoFacts& photo : certificate.facts.photos) {
    const auto found = std::ranges::find_if(*input.photos, [&](const FoundFile& file) {
      return file.sha256_hex == photo.sha256_hex && file.bytes == photo.bytes;
    });
    if (found == input.photos->end()) {
      lines.push_back({LineKind::unproved,
                       name_of_photo(photo) + ": is not there (SHA-256 " + photo.sha256_hex + ")"});
    } else {
      used.insert(found->name);
      lines.push_back({LineKind::proved, name_of_photo(photo) + ": is " + found->name});
    }
  }
  for (const FoundFile& file : *input.photos) {
    if (used.contains(file.name)) {
      continue;
    }
    const bool named_like_one = std::ranges::any_of(
        certificate.facts.photos,
        [&](const PhotoFacts& photo) { return file.name.starts_with(photo.sha256_hex); });
    lines.push_back(
        {LineKind::note, "file " + file.name +
                             (named_like_one ? " differs from the photo that it is named after"
                                             : " is none of the photos that are listed")});
  }
  if (certificate.facts.photos.empty()) {
    lines.push_back({LineKind::note, "the certificate lists no photos"});
  }
  return lines;
}

Lines newer_lines(const ReadCertificate& certificate, const VerifyInput& input) {
  Lines lines;
  for (const std::string& bytes : input.newer) {
    lines.push_back(newer_line(certificate, bytes, input));
  }
  return lines;
}

}  // namespace analysis::certificate
