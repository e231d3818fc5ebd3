// The one way from bytes to OpenSSL's structures, for what reads and what verifies.
#pragma once

#include <string>
#include <string_view>

#include "analysis/base/result.hpp"
#include "analysis/evidence/fault.hpp"
#include "analysis/timestamp/openssl_handles.hpp"
#include "analysis/timestamp/stamp_reply.hpp"

namespace analysis::timestamp {

// The token in a TimeStampResp that was granted, or alone.
struct OpenedReply {
  Token token;
  TokenContent content;
};

// Faults as time_stamp_from_reply, but for those of the content.
[[nodiscard]] base::Result<OpenedReply, evidence::Fault> opened_reply_from(std::string_view der);

[[nodiscard]] base::Result<TimeStamp, evidence::Fault> time_stamp_from_opened(
    const OpenedReply& opened);

// Forgets what OpenSSL noted of it.
[[nodiscard]] base::Failure<evidence::Fault> refused(std::string text);

[[nodiscard]] std::string name_of_subject(const X509* certificate);

}  // namespace analysis::timestamp
