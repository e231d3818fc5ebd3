// What lies beside a certificate without being part of it: photos it lists by digest, and newer
// certificates that take its place. Pure.
#pragma once

#include <vector>

#include "analysis/certificate/verify.hpp"

namespace analysis::certificate {

// Empty where no photos were asked for. A listed photo that is there is proved, one that is not is
// unproved; other files are notes.
[[nodiscard]] std::vector<VerificationLine> photo_lines(const ReadCertificate& certificate,
                                                        const VerifyInput& input);

// One line for each newer certificate given: whether it takes the place of this one, by number,
// SHA-256 and a key that is this one's or follows it along the hand-overs.
[[nodiscard]] std::vector<VerificationLine> newer_lines(const ReadCertificate& certificate,
                                                        const VerifyInput& input);

}  // namespace analysis::certificate
