// A request for a time stamp: the one thing that leaves the machine is a digest and a number.
// Source: RFC 3161 section 2.4.1. Pure; any thread.
#pragma once

#include <cstdint>
#include <string>

#include "analysis/base/result.hpp"
#include "analysis/evidence/digest.hpp"
#include "analysis/evidence/fault.hpp"

namespace analysis::timestamp {

struct StampRequest {
  evidence::Sha256 digest;
  std::uint64_t nonce = 0;  // random, never used twice: an old reply can't pass for a new one
};

// TimeStampReq in DER: version 1, SHA-256, the nonce, and certReq true, so that the token carries
// the certificate of its signer. Fault only when the library has no memory.
[[nodiscard]] base::Result<std::string, evidence::Fault> der_from_request(
    const StampRequest& request);

}  // namespace analysis::timestamp
