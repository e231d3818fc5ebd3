// Text of a room's accounting state as the store keeps it. Doubles round-trip exactly.
#pragma once

#include <map>
#include <optional>
#include <string>

#include "analysis/readiness/room_replay.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::app {

struct AccountState {
  analysis::readiness::ReplayMemory memory;
  std::map<std::string, store::RecordId> through;  // newest record counted, by box
};

[[nodiscard]] std::string text_from_account(const AccountState& state);
// nullopt when the text is not an account of this version; the caller then replays.
[[nodiscard]] std::optional<AccountState> account_from_text(const std::string& text);

}  // namespace logger::app
