// Whether hand-overs of keys lead from the key given from outside to the one that signed. Pure.
#pragma once

#include <vector>

#include "analysis/certificate/verify.hpp"

namespace analysis::certificate {

// REQUIRES: input.handovers is not empty. A certificate dated outside the time in which its key was
// the current one fails: an old key that came into other hands proves nothing.
[[nodiscard]] std::vector<VerificationLine> check_handovers(
    const evidence::SealedDocument& document, const VerifyInput& input);

// The certificate's key `current` and those that handed over to it, as far as the hand-overs given
// lead to it from the outside key; without them it stands alone.
[[nodiscard]] std::vector<evidence::PublicKey> keys_up_to(const evidence::PublicKey& current,
                                                          const VerifyInput& input);

}  // namespace analysis::certificate
