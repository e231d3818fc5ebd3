// Certificate facts to the bytes that are signed, and back. Format: docs/certificate-format.md.
// Pure and deterministic: the same facts and the same key give the same bytes. Any thread.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/certificate/facts.hpp"
#include "analysis/evidence/fault.hpp"
#include "analysis/evidence/signing_key.hpp"

namespace analysis::evidence {
struct SealedDocument;  // sealed_fields.hpp, which few who read certificates need
}

namespace analysis::certificate {

using evidence::Fault;

inline constexpr std::string_view kCertificateFormat = "dwellog-certificate-3";

// Stands in text fields of the facts that were taken out of a copy.
inline constexpr std::string_view kRedactedText = "(redacted)";

// What a certificate says. `facts` carries the values as signed (computed values are rounded to
// three decimals of their unit, computed moments to a millisecond).
struct ReadCertificate {
  CertificateFacts facts;
  evidence::PublicKey public_key;           // that it names as its own
  std::string sha256_hex;                   // of the bytes read
  std::vector<std::string> redacted;        // paths; their texts hold kRedactedText
  std::vector<std::string> unknown_fields;  // signed, but of a later version of this program
};

// Refuses facts that contradict themselves (period turned round, issued before its end, a note
// after the issue, two notes of one gate, text that is not UTF-8) and a number with other
// characters than letters, digits, '-', '_' and '.'.
[[nodiscard]] base::Result<std::string, Fault> issue_certificate(const CertificateFacts& facts,
                                                                 const evidence::SigningKey& key);

// The facts of a certificate that is intact under the key it names. Whose key that is remains open:
// see verify.hpp. Refuses a certificate that was altered or lacks a field it can't do without.
[[nodiscard]] base::Result<ReadCertificate, Fault> read_certificate(std::string_view bytes);

// As read_certificate, from a document whose digests and signature the caller looks at himself.
[[nodiscard]] base::Result<ReadCertificate, Fault> certificate_from_document(
    const evidence::SealedDocument& document);

// A copy without the facts at `paths`, that still verifies. Refuses paths a certificate can't do
// without: see is_redactable().
[[nodiscard]] base::Result<std::string, Fault> redact_certificate(
    std::string_view bytes, const std::vector<std::string>& paths);

// True for what a verdict does not depend on: names, addresses, remarks, wording.
[[nodiscard]] bool is_redactable(std::string_view path);

struct RedactableField {
  std::string path;
  std::string text;       // kRedactedText where it is out already
  bool personal = false;  // names a person or a place
  bool redacted = false;  // out of this copy already
};
// In order of their paths. Refuses what read_certificate refuses.
[[nodiscard]] base::Result<std::vector<RedactableField>, Fault> redactable_fields(
    std::string_view bytes);
// The paths of a certificate that name persons or places (job, site, installer, client, room name,
// observers with their remarks, placements), those already redacted left out.
[[nodiscard]] base::Result<std::vector<std::string>, Fault> personal_paths(std::string_view bytes);

}  // namespace analysis::certificate
