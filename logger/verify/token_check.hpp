// The one door from the programs to time stamps. A build without them has the same functions, which
// then say so and how to check by hand. Pure; any thread.
#pragma once

#include <string>
#include <string_view>

#include "analysis/base/result.hpp"
#include "analysis/base/time.hpp"
#include "analysis/evidence/digest.hpp"
#include "analysis/evidence/fault.hpp"

namespace logger::verify {

// What a token states.
struct TokenFacts {
  analysis::evidence::Sha256 digest;  // of what was stamped
  analysis::base::UtcMicros at;
  analysis::base::Micros accuracy{0};  // +-; 0 = not stated
  std::string authority;               // the signer's name
};
using TokenResult = analysis::base::Result<TokenFacts, analysis::evidence::Fault>;

// For --version: "time stamps with OpenSSL 3.0.11", or that this build has none.
[[nodiscard]] std::string time_stamp_support_text();

// Empty when this build can check time stamps; otherwise one line that says what to do instead.
[[nodiscard]] std::string_view time_stamps_left_out();

// What the token says, proved by nothing.
[[nodiscard]] TokenResult token_as_it_says(std::string_view reply_der);

// The same, verified under certificates that one trusts (PEM).
[[nodiscard]] TokenResult verified_token(std::string_view reply_der,
                                         std::string_view authorities_pem);

// That the text holds certificates.
[[nodiscard]] analysis::base::Result<void, analysis::evidence::Fault> authorities_are_readable(
    std::string_view pem);

}  // namespace logger::verify
