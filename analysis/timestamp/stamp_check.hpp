// Verifies a time stamp against authorities that one trusts. Everything is judged as of the moment
// of the stamp, which is what a stamp is for: a certificate that expired later takes nothing from
// it. Whether a certificate was revoked is not asked: that needs the network.
// Source: RFC 3161 sections 2.3 and 2.4.2, RFC 5035, RFC 5280. Pure; any thread.
#pragma once

#include <string>
#include <string_view>

#include "analysis/base/result.hpp"
#include "analysis/evidence/fault.hpp"
#include "analysis/timestamp/stamp_reply.hpp"

namespace analysis::timestamp {

// "OpenSSL 3.0.11".
[[nodiscard]] std::string library_version();

// That the text holds one certificate (PEM) or several, each readable.
[[nodiscard]] base::Result<void, evidence::Fault> check_authorities(std::string_view pem);

// The stamp, when its signature holds under a certificate made for time stamps (extended key usage
// id-kp-timeStamping alone and critical) whose chain leads to one of `authorities_pem`. Each of
// those is trusted as it is, an intermediate or the signer's own included. Chain and signature must
// have 112 bits of strength (OpenSSL's level 2). Faults, one line each: those of
// time_stamp_from_reply and check_authorities, signature wrong, chain not to a given authority,
// expired or not yet valid at that moment, not made for time stamps.
[[nodiscard]] base::Result<TimeStamp, evidence::Fault> verified_time_stamp(
    std::string_view reply_der, std::string_view authorities_pem);

}  // namespace analysis::timestamp
