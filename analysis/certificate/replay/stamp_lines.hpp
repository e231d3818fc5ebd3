// What time stamps of checkpoints prove: that the first entries of the log stood like that at a
// moment, on the word of whoever stamped. Pure.
#pragma once

#include <vector>

#include "analysis/certificate/verify.hpp"

namespace analysis::certificate {

// The anchor of the certificate: proved by input.stamps, not proved without one, FAILED where the
// stamp is wrong or is of something else than the anchor's checkpoint, byte for byte with its line
// end, or that checkpoint is signed with a key that does not lead to the certificate's. A
// certificate without an anchor is said to have none.
[[nodiscard]] std::vector<VerificationLine> anchor_lines(const ReadCertificate& certificate,
                                                         const VerifyInput& input);

// The other stamps: each belongs to the earlier checkpoint that it is of; one of none fails.
// Whose key signed that checkpoint is said when it is compared with the log.
[[nodiscard]] std::vector<VerificationLine> checkpoint_stamp_lines(const VerifyInput& input);

// Where the anchor's token is, for whoever can verify it: the DER in base64; nullopt when the bytes
// are no certificate or it has no anchor.
[[nodiscard]] std::optional<std::string> anchor_token_base64(std::string_view certificate);

}  // namespace analysis::certificate
