// In place of token_requests.cpp in a build without time stamps.
#include "logger/app/checkpoints/token_requests.hpp"
#include "logger/verify/token_check.hpp"

namespace logger::app {

TokenTurn fetch_queued_tokens(const JobFolder& /*folder*/,
                              const std::optional<JobCheckpoints>& settings, KeptCheckpoints& kept,
                              std::size_t /*most*/, const std::stop_token& /*stop*/) {
  TokenTurn turn;
  if (settings && !settings->time_stamp_url.empty() && kept.queued() > 0) {
    turn.fault = std::string(verify::time_stamps_left_out());
  }
  return turn;
}

}  // namespace logger::app
