#include "logger/app/checkpoints/token_requests.hpp"

#include <sodium.h>

#include <algorithm>
#include <ranges>

#include "logger/anchor/token_fetch.hpp"
#include "logger/app/checkpoints/checkpoint_signing.hpp"

namespace logger::app {
namespace {

using store::Result;

Result<KeptToken> fetch_and_keep(const anchor::Authority& authority, const KeptCheckpoint& kept,
                                 const std::stop_token& stop) {
  analysis::timestamp::StampRequest request{analysis::evidence::sha256_from_bytes(kept.text), 0};
  randombytes_buf(&request.nonce, sizeof request.nonce);
  auto token = anchor::fetch_token(authority, request, stop);
  if (!token) {
    return store::Failure{token.error()};
  }
  const auto written = write_new_file(kept.token_file(), token.value().reply_der);
  if (!written) {
    return store::Failure{written.error()};
  }
  return KeptToken{std::move(token.value().reply_der), token.value().stamp.at,
                   token.value().stamp.authority, !authority.certificates_pem.empty()};
}

}  // namespace

TokenTurn fetch_queued_tokens(const JobFolder& folder,
                              const std::optional<JobCheckpoints>& settings, KeptCheckpoints& kept,
                              std::size_t most, const std::stop_token& stop) {
  TokenTurn turn;
  if (!settings || settings->time_stamp_url.empty() || kept.queued() == 0) {
    return turn;
  }
  const auto certificates = authority_certificates(folder, settings);
  if (!certificates || sodium_init() < 0) {
    turn.fault = certificates ? "no random numbers for a request" : certificates.error().context;
    return turn;
  }
  const anchor::Authority authority{settings->time_stamp_url, certificates.value()};
  for (KeptCheckpoint& item : kept.items | std::views::reverse) {
    if (!item.is_queued() || turn.anchored.size() >= most) {
      continue;
    }
    auto token = fetch_and_keep(authority, item, stop);
    if (!token) {
      turn.fault = token.error().context;
      return turn;
    }
    item.token = std::move(token).value();
    turn.anchored.push_back(item.file.filename().string() + " stamped at " +
                            analysis::base::rfc3339_from_utc(item.token->stamped_at) + " by " +
                            item.token->authority + (item.token->verified ? "" : ", unverified"));
  }
  return turn;
}

}  // namespace logger::app
