#include "analysis/certificate/replay/stamp_lines.hpp"

#include <algorithm>

#include "analysis/certificate/replay/log/compared_heads.hpp"
#include "analysis/evidence/checkpoint.hpp"
#include "analysis/evidence/sealed_fields.hpp"

namespace analysis::certificate {
namespace {

using base::rfc3339_from_utc;
using evidence::Checkpoint;
using Line = VerificationLine;

// "2026-03-02T07:00:00Z (+-1500 ms) by CN=..."
std::string when_and_who(const StampedDigest& stamp) {
  const auto milliseconds = std::chrono::duration_cast<std::chrono::milliseconds>(stamp.accuracy);
  return rfc3339_from_utc(stamp.at) +
         (stamp.accuracy.count() == 0 ? ""
                                      : " (+-" + std::to_string(milliseconds.count()) + " ms)") +
         " by " + stamp.authority;
}

std::string what_stood(const Checkpoint& checkpoint) {
  return "the first " + std::to_string(checkpoint.head.size) +
         " entries of the log with the root " + evidence::hex_from_digest(checkpoint.head.root) +
         " (signed with the key " + evidence::fingerprint_of(checkpoint.public_key) + ")";
}

Line proved_line(const Checkpoint& checkpoint, const StampedDigest& stamp) {
  return {LineKind::proved,
          "time stamp: " + what_stood(checkpoint) + " stood like that at " + when_and_who(stamp)};
}

Line judged_anchor(const AnchorFacts& anchor, const Checkpoint& checkpoint,
                   const StampedDigest& stamp) {
  if (!stamp.fault.empty()) {
    return {LineKind::failed, "log.anchor: " + stamp.fault};
  }
  if (stamp.digest != evidence::sha256_from_bytes(anchor.checkpoint + "\n")) {
    return {LineKind::failed, "log.anchor: its token stamps " +
                                  evidence::hex_from_digest(stamp.digest) +
                                  ", which is not the checkpoint beside it"};
  }
  if (stamp.at != anchor.stamped_at || stamp.authority != anchor.authority) {
    return {LineKind::failed, "log.anchor: the certificate says " +
                                  rfc3339_from_utc(anchor.stamped_at) + " by " + anchor.authority +
                                  ", the token says " + rfc3339_from_utc(stamp.at) + " by " +
                                  stamp.authority};
  }
  return proved_line(checkpoint, stamp);
}

}  // namespace

std::vector<Line> anchor_lines(const ReadCertificate& certificate, const VerifyInput& input) {
  const CertificateFacts& facts = certificate.facts;
  if (!facts.log || !facts.log->anchor) {
    return {
        {LineKind::unproved,
         "when the log stood like that: the certificate carries no time stamp, so its times are "
         "self-declared"}};
  }
  const AnchorFacts& anchor = *facts.log->anchor;
  const auto checkpoint =
      checkpoint_for(certificate, input, "log.anchor", anchor.checkpoint + "\n");
  if (!checkpoint && input.log) {
    return {};  // the comparison with the log says it
  }
  if (!checkpoint) {
    return {{LineKind::failed, checkpoint.error().text}};
  }
  const auto stamp = std::ranges::find(input.stamps, kAnchorStamp, &StampedDigest::source);
  if (stamp == input.stamps.end()) {
    return {{LineKind::unproved, "time stamp: " + what_stood(checkpoint.value()) +
                                     " is said to have stood like that at " +
                                     rfc3339_from_utc(anchor.stamped_at) + " by " +
                                     anchor.authority +
                                     "; no authority's certificate was given to verify it with"}};
  }
  return {judged_anchor(anchor, checkpoint.value(), *stamp)};
}

std::vector<Line> checkpoint_stamp_lines(const VerifyInput& input) {
  std::vector<Line> lines;
  for (const StampedDigest& stamp : input.stamps) {
    if (stamp.source == kAnchorStamp) {
      continue;
    }
    const std::string what = stamp.source + ": ";
    const auto of = std::ranges::find(
        input.earlier_checkpoints, stamp.digest,
        [](const std::string& text) { return evidence::sha256_from_bytes(text); });
    if (!stamp.fault.empty()) {
      lines.push_back({LineKind::failed, what + stamp.fault});
    } else if (of == input.earlier_checkpoints.end()) {
      lines.push_back(
          {LineKind::failed, what + "it stamps " + evidence::hex_from_digest(stamp.digest) +
                                 ", which is none of the checkpoints given with --since"});
    } else {
      const auto checkpoint = evidence::checkpoint_from_text(*of);
      lines.push_back(checkpoint ? proved_line(checkpoint.value(), stamp)
                                 : Line{LineKind::failed, what + checkpoint.error().text});
    }
  }
  return lines;
}

std::optional<std::string> anchor_token_base64(std::string_view certificate) {
  const auto document = evidence::open_sealed(certificate, kCertificateFormat);
  if (!document) {
    return std::nullopt;
  }
  const auto read = certificate_from_document(document.value());
  if (!read || !read.value().facts.log || !read.value().facts.log->anchor) {
    return std::nullopt;
  }
  return read.value().facts.log->anchor->token_base64;
}

}  // namespace analysis::certificate
