// What a time stamp says of itself. Nothing here is proof: stamp_check.hpp verifies.
// Source: RFC 3161 section 2.4.2. Pure; any thread; any bytes may come in.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "analysis/base/result.hpp"
#include "analysis/base/time.hpp"
#include "analysis/evidence/digest.hpp"
#include "analysis/evidence/fault.hpp"
#include "analysis/timestamp/stamp_request.hpp"

namespace analysis::timestamp {

inline constexpr std::size_t kMostReplyBytes = std::size_t{64} * 1024;

struct TimeStamp {
  evidence::Sha256 digest;               // of what was stamped
  base::UtcMicros at;                    // finer than a microsecond is cut off
  std::optional<base::Micros> accuracy;  // +-; nullopt = not stated
  std::string serial_hex;                // of the token, upper-case digits
  std::string authority;                 // subject of the signer's certificate (RFC 2253)
  std::optional<std::uint64_t> nonce;    // nullopt = none, or not one of ours
};

// Reads a TimeStampResp, or a token alone, in DER. Faults: no time stamp, not granted (with the
// authority's own words), a digest other than SHA-256, bytes after it, more than kMostReplyBytes.
[[nodiscard]] base::Result<TimeStamp, evidence::Fault> time_stamp_from_reply(std::string_view der);

// That the stamp is of this digest.
[[nodiscard]] base::Result<void, evidence::Fault> check_stamps(const TimeStamp& stamp,
                                                               const evidence::Sha256& digest);

// That the stamp answers this request: its digest and its nonce.
[[nodiscard]] base::Result<void, evidence::Fault> check_answers(const TimeStamp& stamp,
                                                                const StampRequest& request);

}  // namespace analysis::timestamp
