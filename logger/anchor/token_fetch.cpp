#include "logger/anchor/token_fetch.hpp"

#include "analysis/timestamp/stamp_check.hpp"

namespace logger::anchor {

using analysis::timestamp::StampRequest;
using store::ErrorCode;
using store::failure;
using store::Result;

Result<FetchedToken> fetch_token(const Authority& authority, const StampRequest& request,
                                 const std::stop_token& stop) {
  const auto asked = der_from_request(request);
  if (!asked) {
    return failure(ErrorCode::unavailable, asked.error().text);
  }
  auto reply = post({authority.url, "application/timestamp-query", "application/timestamp-reply",
                     asked.value(), authority.limits},
                    stop);
  if (!reply) {
    return store::Failure{reply.error()};
  }
  const auto stamp =
      authority.certificates_pem.empty()
          ? analysis::timestamp::time_stamp_from_reply(reply.value())
          : analysis::timestamp::verified_time_stamp(reply.value(), authority.certificates_pem);
  if (!stamp) {
    return failure(ErrorCode::unavailable, authority.url + ": " + stamp.error().text);
  }
  const auto answers = check_answers(stamp.value(), request);
  if (!answers) {
    return failure(ErrorCode::unavailable, authority.url + ": " + answers.error().text);
  }
  return FetchedToken{std::move(reply).value(), stamp.value()};
}

}  // namespace logger::anchor
