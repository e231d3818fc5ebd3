// Has a digest stamped by an authority of the network. Source: RFC 3161 section 3.4.
// Blocks; for a worker thread or a command.
#pragma once

#include <cstdint>
#include <stop_token>
#include <string>

#include "analysis/timestamp/stamp_reply.hpp"
#include "logger/anchor/http_post.hpp"

namespace logger::anchor {

struct Authority {
  std::string url;
  std::string certificates_pem;  // to verify its tokens with; empty = kept unverified
  HttpLimits limits{};
};

struct FetchedToken {
  std::string reply_der;  // the TimeStampResp, byte for byte
  analysis::timestamp::TimeStamp stamp;
};

// A token that answers this request and, where certificates are given, verifies under them. Errors:
// those of post; unavailable too for a reply that is refused, with the reason.
[[nodiscard]] store::Result<FetchedToken> fetch_token(
    const Authority& authority, const analysis::timestamp::StampRequest& request,
    const std::stop_token& stop = {});

}  // namespace logger::anchor
