// Verifies a certificate offline: what is proved, what is not and why. Pure; the caller brings the
// bytes. It never claims more than the bytes show: whoever holds the signing key can re-sign what
// was never handed over, and what a person noted is that person's word.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/certificate/certificate_json.hpp"
#include "analysis/evidence/digest.hpp"
#include "analysis/evidence/signing_key.hpp"

namespace analysis::certificate {

// Values are the exit status of `dwellog verify`.
enum class VerificationStatus : std::uint8_t {
  proved = 0,
  unreadable = 1,   // not a certificate of this format in its one exact spelling
  not_proved = 2,   // altered, another key, an essential field redacted, readings that do not fit
  intact_only = 3,  // as it was signed, but no public key was given from outside
};

enum class LineKind : std::uint8_t { proved = 1, unproved = 2, failed = 3, note = 4 };
[[nodiscard]] std::string_view name_of(LineKind kind);  // "proved", "not proved", "FAILED", "note"

struct VerificationLine {
  LineKind kind = LineKind::note;
  std::string text;
};

struct Verification {
  VerificationStatus status = VerificationStatus::unreadable;
  std::vector<VerificationLine> lines;         // in the order to print
  std::optional<ReadCertificate> certificate;  // where its facts could be read
};

// The next piece of a file's bytes, of any length; nullopt at its end. A piece stays valid until
// the next call.
using ByteSource = std::function<std::optional<std::string_view>()>;
[[nodiscard]] ByteSource byte_source_from(std::string_view text);  // `text` outlives the source

// A time stamp as someone who can verify such has read it.
struct StampedDigest {
  std::string source;         // for people: a file's name; of the anchor: kAnchorStamp
  std::string fault{};        // why it proves nothing; empty = verified under a given authority
  evidence::Sha256 digest{};  // of what was stamped; this and the rest only without a fault
  base::UtcMicros at{};       // when
  base::Micros accuracy{0};   // +-; 0 = not stated
  std::string authority{};    // who
};
inline constexpr std::string_view kAnchorStamp = "log.anchor";

// A file that was found where photos were looked for.
struct FoundFile {
  std::string name;
  std::string sha256_hex;  // may be empty where its length is that of no photo listed
  std::int64_t bytes = 0;
};

struct VerifyInput {
  std::string_view certificate;
  std::optional<evidence::PublicKey> outside_key;  // got from another hand than the certificate
  ByteSource readings;                             // the readings file; empty function = not given
  // As in CertificateFacts::software, of the program that verifies; only what stands before its
  // first comma, program and version, is compared.
  std::string software;
  // The log extract beside the readings (docs/evidence-log.md); empty function = not given.
  ByteSource log{};
  // Statements that lead from the outside key to the certificate's, in order (docs/keys.md).
  std::vector<std::string> handovers{};
  // Checkpoints that were kept elsewhere since, each a whole file.
  std::vector<std::string> earlier_checkpoints{};
  // Of the certificate's own anchor where an authority was given, and of earlier checkpoints.
  std::vector<StampedDigest> stamps{};
  // Certificates that may take the place of this one, each a whole file.
  std::vector<std::string> newer{};
  // The files of a folder of photos; nullopt = photos are not looked at.
  std::optional<std::vector<FoundFile>> photos{};
};

// Reads the readings once; memory does not grow with their number (but with their gaps), unless the
// log is given (see LogPlan).
[[nodiscard]] Verification verify_certificate(const VerifyInput& input);

}  // namespace analysis::certificate
