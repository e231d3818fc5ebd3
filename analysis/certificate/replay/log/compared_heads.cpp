#include "analysis/certificate/replay/log/compared_heads.hpp"

#include <algorithm>

#include "analysis/certificate/replay/handover_check.hpp"

namespace analysis::certificate {
namespace {

using base::Failure;
using base::Result;
using evidence::Checkpoint;

std::string name_of(const ComparedHead& head) {
  return std::string(head.is_anchor ? "the anchor, a" : "the") + " checkpoint of " +
         std::to_string(head.checkpoint.head.size) + " entries, dated " +
         base::rfc3339_from_utc(head.checkpoint.issued_at);
}

bool anchor_is_stamped(const std::string& checkpoint_text, const VerifyInput& input) {
  return std::ranges::any_of(input.stamps, [&](const StampedDigest& stamp) {
    return stamp.fault.empty() && stamp.digest == evidence::sha256_from_bytes(checkpoint_text);
  });
}

}  // namespace

Result<Checkpoint, Fault> checkpoint_for(const ReadCertificate& certificate,
                                         const VerifyInput& input, const std::string& what,
                                         const std::string& text) {
  auto checkpoint = evidence::checkpoint_from_text(text);
  if (!checkpoint) {
    return Failure{Fault{what + ": " + checkpoint.error().text}};
  }
  const auto keys = keys_up_to(certificate.public_key, input);
  if (std::ranges::find(keys, checkpoint.value().public_key) == keys.end()) {
    return Failure{Fault{what + ": signed with the key " +
                         evidence::fingerprint_of(checkpoint.value().public_key) +
                         ", which is neither the certificate's nor one that the hand-overs given "
                         "lead from to it"}};
  }
  if (checkpoint.value().simulated != certificate.facts.simulated) {
    return Failure{Fault{what + ": of a " +
                         std::string(checkpoint.value().simulated ? "simulated" : "real") +
                         " site, the certificate is not"}};
  }
  return checkpoint;
}

std::vector<ComparedHead> compared_heads_from(const ReadCertificate& certificate,
                                              const VerifyInput& input,
                                              std::vector<VerificationLine>& lines) {
  std::vector<ComparedHead> heads;
  const auto take = [&](const std::string& what, const std::string& text, bool is_anchor) {
    const auto checkpoint = checkpoint_for(certificate, input, what, text);
    if (checkpoint) {
      heads.push_back(
          {checkpoint.value(), is_anchor, !is_anchor || anchor_is_stamped(text, input)});
    } else {
      lines.push_back({LineKind::failed, checkpoint.error().text});
    }
  };
  if (certificate.facts.log && certificate.facts.log->anchor) {
    take("log.anchor", certificate.facts.log->anchor->checkpoint + "\n", true);
  }
  for (std::size_t i = 0; i < input.earlier_checkpoints.size(); ++i) {
    take("checkpoint " + std::to_string(i + 1) + " of those given", input.earlier_checkpoints[i],
         false);
  }
  std::ranges::stable_sort(heads, {}, [](const ComparedHead& h) { return h.checkpoint.head.size; });
  return heads;
}

VerificationLine line_from(const ComparedHead& head, const ReadCertificate& certificate,
                           std::uint64_t log_size, std::uint64_t agrees_up_to) {
  const std::string name = name_of(head);
  const std::uint64_t size = head.checkpoint.head.size;
  if (size > log_size) {
    const bool later = head.checkpoint.issued_at > certificate.facts.issued_at;
    return {LineKind::failed,
            name + ": the log of the certificate has only " + std::to_string(log_size) +
                " entries, it is shorter than the checkpoint: " +
                (later ? "the checkpoint is dated after the certificate, which can't be compared "
                         "with it"
                       : "a tail was cut off, or an older copy was put back")};
  }
  if (!head.reached) {
    return {LineKind::failed, name + ": this log file has no boundary at entry " +
                                  std::to_string(size) +
                                  "; ask for one made with that checkpoint at hand"};
  }
  if (!head.same) {
    return {LineKind::failed, name + ": the log differs: it was changed in the entries " +
                                  std::to_string(agrees_up_to) + " to " +
                                  std::to_string(std::max(size, agrees_up_to + 1) - 1) +
                                  " after that checkpoint was signed, or is another log"};
  }
  return {LineKind::proved, name + ": the log begins with exactly those entries; " +
                                std::to_string(head.readings_below) + " of the " +
                                std::to_string(certificate.facts.readings.records) +
                                " readings lie among them"};
}

}  // namespace analysis::certificate
