// Replays the readings beside a certificate and compares what they give with what is signed.
#pragma once

#include <string>
#include <vector>

#include "analysis/certificate/verify.hpp"

namespace analysis::certificate {

// One line for each thing looked at, in the order to print. `software` as in VerifyInput.
[[nodiscard]] std::vector<VerificationLine> check_readings(const ReadCertificate& certificate,
                                                           const ByteSource& readings,
                                                           const std::string& software);

}  // namespace analysis::certificate
