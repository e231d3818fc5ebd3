#include "logger/verify/token_check.hpp"

#include "analysis/timestamp/stamp_check.hpp"

namespace logger::verify {
namespace {

using analysis::base::Failure;
using analysis::base::Result;
using analysis::evidence::Fault;
using analysis::timestamp::TimeStamp;

TokenResult facts_from(const Result<TimeStamp, Fault>& stamp) {
  if (!stamp) {
    return Failure{stamp.error()};
  }
  return TokenFacts{stamp.value().digest, stamp.value().at,
                    stamp.value().accuracy.value_or(analysis::base::Micros{0}),
                    stamp.value().authority};
}

}  // namespace

std::string time_stamp_support_text() {
  return "time stamps with " + analysis::timestamp::library_version();
}

std::string_view time_stamps_left_out() { return {}; }

TokenResult token_as_it_says(std::string_view reply_der) {
  return facts_from(analysis::timestamp::time_stamp_from_reply(reply_der));
}

TokenResult verified_token(std::string_view reply_der, std::string_view authorities_pem) {
  return facts_from(analysis::timestamp::verified_time_stamp(reply_der, authorities_pem));
}

Result<void, Fault> authorities_are_readable(std::string_view pem) {
  return analysis::timestamp::check_authorities(pem);
}

}  // namespace logger::verify
