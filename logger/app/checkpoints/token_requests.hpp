// Has queued checkpoints stamped by the authority that job.json names. Blocks on the network; for
// the worker thread or a command. A build without time stamps has the same functions, which say so.
#pragma once

#include <optional>
#include <stop_token>
#include <string>
#include <vector>

#include "logger/app/checkpoints/checkpoint_folder.hpp"

namespace logger::app {

struct TokenTurn {
  std::vector<std::string> anchored;  // one line for each checkpoint that got its token
  // Why the first that failed did, in one line; the turn ends with it. nullopt = none failed.
  std::optional<std::string> fault;
};

// Asks for a token of each queued checkpoint, the newest first, and takes what it gets into `kept`
// and beside the checkpoint, `most` of them. A token that does not verify is not kept. Nothing is
// asked where job.json names no authority.
[[nodiscard]] TokenTurn fetch_queued_tokens(const JobFolder& folder,
                                            const std::optional<JobCheckpoints>& settings,
                                            KeptCheckpoints& kept, std::size_t most,
                                            const std::stop_token& stop = {});

}  // namespace logger::app
