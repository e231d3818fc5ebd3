// A document of named facts of which any one can be taken out later without breaking the signature
// over the rest. What is signed is a header that holds the digest of every fact,
// SHA-256(canonical [path, salt, value]); the document carries the facts with their salts beside
// it. Canonical JSON throughout (RFC 8785). Format: docs/certificate-format.md. Pure; any thread.
#pragma once

#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/base/time.hpp"
#include "analysis/evidence/digest.hpp"
#include "analysis/evidence/fault.hpp"
#include "analysis/evidence/signing_key.hpp"

namespace analysis::evidence {

// What is signed in the open: it can't be redacted.
struct SealedHeader {
  std::string format;  // "dwellog-certificate-3"
  std::string number;
  base::UtcMicros issued_at;
  bool simulated = false;
  PublicKey public_key;                  // filled by seal()
  std::map<std::string, Sha256> fields;  // path -> digest; filled by seal()
};

using FieldValues = std::map<std::string, nlohmann::json>;  // path -> value

struct SealedDocument {
  SealedHeader header;
  FieldValues facts;                  // those that are there, altered ones included
  std::vector<std::string> redacted;  // paths of the header without a fact
  std::vector<std::string> altered;   // paths whose fact does not match its digest
  std::vector<std::string> unsealed;  // facts that the header does not list
  bool signature_valid = false;       // by the key the header names
};

// The bytes of the document. Salts come from the key, number, path and value, so that the same
// facts under the same key give the same bytes, and one salt tells nothing of another.
// Refuses values that have no canonical form, an empty number and an empty set of fields.
[[nodiscard]] base::Result<std::string, Fault> seal(SealedHeader header, const FieldValues& facts,
                                                    const SigningKey& key);

// Refuses bytes that are not canonical or have not exactly this form (unknown members included).
// What does not match is reported in the document, not refused, so that all of it can be told.
[[nodiscard]] base::Result<SealedDocument, Fault> open_sealed(std::string_view bytes,
                                                              std::string_view expected_format);

// The same document without the facts at `paths`. Refuses bytes that open_sealed refuses, a path
// that is not there (already redacted ones included) and any document that is not intact.
[[nodiscard]] base::Result<std::string, Fault> redact_sealed(std::string_view bytes,
                                                             std::string_view expected_format,
                                                             const std::vector<std::string>& paths);

}  // namespace analysis::evidence
