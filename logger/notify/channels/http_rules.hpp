// What is asked of the URL of an HTTP server, and what the status of its answer means for whoever
// delivers. Internal to the channels.
#pragma once

#include "logger/transfer/curl_transfer.hpp"

namespace logger::notify {

// Source of the statuses that pass: RFC 9110 (408), RFC 8470 (425), RFC 6585 (429).
[[nodiscard]] inline store::Result<void> taken_by_status(const transfer::CurlTransfer& transfer) {
  const long status = transfer.status();
  if (status >= 200 && status < 300) {
    return {};
  }
  const bool passes = status == 408 || status == 425 || status == 429;
  return store::failure(status >= 400 && status < 500 && !passes ? store::ErrorCode::invalid_input
                                                                 : store::ErrorCode::unavailable,
                        transfer.shown() + ": it answers with HTTP status " +
                            std::to_string(status) + ", expected 200 to 299" +
                            (status >= 300 && status < 400 ? "; it is not followed" : ""));
}

// The same of a request that was performed with that outcome. The status stands at the front of an
// answer, so one that is too long to be read was given all the same.
[[nodiscard]] inline store::Result<void> taken_by_outcome(const transfer::CurlTransfer& transfer,
                                                          const store::Result<void>& done) {
  return done || transfer.answer_too_long() ? taken_by_status(transfer) : done;
}

// `secured` to anywhere; `plain` to this machine alone.
struct UrlCheck {
  transfer::UrlParts parts;
  std::string secured;
  std::string plain;
};
[[nodiscard]] inline store::Result<void> check_encrypted(const std::string& what,
                                                         const UrlCheck& check) {
  if (check.parts.scheme == check.secured ||
      (check.parts.scheme == check.plain && check.parts.to_this_machine)) {
    return {};
  }
  return store::failure(store::ErrorCode::invalid_input,
                        what + ": " + check.parts.shown() + "; expected " + check.secured +
                            "://, or " + check.plain + ":// to this machine");
}

}  // namespace logger::notify
