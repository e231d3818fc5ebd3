// Replays the readings beside a certificate and compares what they give with what is signed.
#pragma once

#include <string>
#include <vector>

#include "analysis/certificate/verify.hpp"

namespace analysis::certificate {

// Gets each record line that was found good, with its number in the file.
using RecordLineObserver = std::function<void(std::uint64_t line_number, std::string_view line)>;

struct ReadingsCheck {
  std::vector<VerificationLine> lines;  // one for each thing looked at, in the order to print
  bool read = false;                    // every line was good
};
// `software` as in VerifyInput.
[[nodiscard]] ReadingsCheck check_readings(const ReadCertificate& certificate,
                                           const ByteSource& readings, const std::string& software,
                                           const RecordLineObserver& observer = {});

}  // namespace analysis::certificate
