#include "analysis/certificate/replay/handover_check.hpp"

#include <algorithm>

#include "analysis/evidence/handover.hpp"
#include "analysis/evidence/sealed_fields.hpp"

namespace analysis::certificate {
namespace {

using base::Failure;
using base::Result;
using evidence::fingerprint_of;
using evidence::Handover;
using Lines = std::vector<VerificationLine>;

Result<std::vector<Handover>, Fault> read_all(const std::vector<std::string>& texts) {
  std::vector<Handover> steps;
  for (const std::string& text : texts) {
    const auto step = evidence::handover_from_text(text);
    if (!step) {
      return Failure{step.error()};
    }
    steps.push_back(step.value());
  }
  return steps;
}

Result<std::vector<evidence::PublicKey>, Fault> keys_from(
    const evidence::PublicKey& first, const Result<std::vector<Handover>, Fault>& steps) {
  return steps ? evidence::keys_along(first, steps.value())
               : Result<std::vector<evidence::PublicKey>, Fault>(Failure{steps.error()});
}

std::string name_and_date(const Handover& step) {
  return "hand-over " + std::to_string(step.sequence) + " of " + base::rfc3339_from_utc(step.at) +
         " (dated by the holder of the keys)";
}

// `current`: index of the certificate's key; step i leads from key i to key i + 1.
void check_date(base::UtcMicros issued_at, const std::vector<Handover>& steps, std::size_t current,
                Lines& lines) {
  const std::string issued = "the certificate is dated " + base::rfc3339_from_utc(issued_at);
  if (current < steps.size() && issued_at > steps[current].at) {
    lines.push_back({LineKind::failed,
                     issued + ", after its key was handed over: " + name_and_date(steps[current])});
  }
  if (current > 0 && issued_at < steps[current - 1].at) {
    lines.push_back({LineKind::failed,
                     issued + ", before its key took over: " + name_and_date(steps[current - 1])});
  }
}

}  // namespace

Lines check_handovers(const evidence::SealedDocument& document, const VerifyInput& input) {
  Lines lines;
  if (!input.outside_key) {
    lines.push_back({LineKind::unproved,
                     "whose key that is: hand-overs prove nothing without the public key they "
                     "begin at, got from outside"});
    return lines;
  }
  const auto steps = read_all(input.handovers);
  const auto keys = keys_from(*input.outside_key, steps);
  if (!keys) {
    lines.push_back({LineKind::failed, keys.error().text});
    return lines;
  }
  const auto found = std::ranges::find(keys.value(), document.header.public_key);
  if (found == keys.value().end()) {
    lines.push_back({LineKind::failed, "the hand-overs lead from the key given to " +
                                           fingerprint_of(keys.value().back()) +
                                           ", not to the key that the certificate names (" +
                                           fingerprint_of(document.header.public_key) + ")"});
    return lines;
  }
  const auto current = static_cast<std::size_t>(found - keys.value().begin());
  for (std::size_t i = 0; i < current; ++i) {
    lines.push_back({LineKind::proved, name_and_date(steps.value()[i]) + ": key " +
                                           fingerprint_of(keys.value()[i]) + " named key " +
                                           fingerprint_of(keys.value()[i + 1]) +
                                           " as the next, signed with both"});
  }
  lines.push_back({LineKind::proved, current == 0
                                         ? "that key is the one given from outside"
                                         : "the key given from outside leads to that key through " +
                                               std::to_string(current) + " hand-over(s)"});
  check_date(document.header.issued_at, steps.value(), current, lines);
  return lines;
}

std::vector<evidence::PublicKey> keys_up_to(const evidence::PublicKey& current,
                                            const VerifyInput& input) {
  if (input.outside_key) {
    const auto along = keys_from(*input.outside_key, read_all(input.handovers));
    const auto keys = along.value_or({});
    const auto found = std::ranges::find(keys, current);
    if (found != keys.end()) {
      return {keys.begin(), found + 1};
    }
  }
  return {current};
}

}  // namespace analysis::certificate
